"""Cards and answers as lines of text for a terminal."""
