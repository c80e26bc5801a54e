"""Lengths, tape readings and angles: exact inside, rounded once at the edge."""
