"""A job: many runs with their benders, stock, prices and people; planned together."""
