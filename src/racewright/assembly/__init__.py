"""How the pieces of a run are joined and put up: joints, threads, the order, each move, and what is in the way."""
