"""What to buy and how to cut it."""
