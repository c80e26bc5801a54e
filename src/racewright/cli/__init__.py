"""The command line: one module a command, loaded only when it is asked for."""
