"""Files: surveys, the user's own benders, results."""
