"""Checks of a plan, of wires and of boxes against an edition of a wiring code, one file a rule family."""
