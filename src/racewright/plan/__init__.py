"""The whole pipeline: survey -> route -> bends -> sequence -> marks -> plan, with findings beside it."""
