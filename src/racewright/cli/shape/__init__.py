"""`racewright shape`: one module a family of shapes."""
