"""Shapes on their own: each a request of named readings with the function that answers it."""
