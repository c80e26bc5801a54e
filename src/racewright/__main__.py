"""`python -m racewright` is the `racewright` command."""

from racewright.cli.main import command

if __name__ == "__main__":
    command()
