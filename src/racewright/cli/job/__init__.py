"""`racewright job`: one module a subcommand."""
