"""Splitting one run into sticks: where the couplings go."""
