"""Cards: a plan on paper or in the terminal, for the person who holds the conduit."""
