"""`python -m racewright` is the `racewright` command."""

import sys

from racewright.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
