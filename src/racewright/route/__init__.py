"""From the survey to the corner points of the wanted centreline."""
