"""What was measured, as one walks the run with a tape, and checks of it."""
