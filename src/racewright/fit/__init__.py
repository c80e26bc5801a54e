"""Will it fit, what to correct, what went wrong, and can it be put in."""
