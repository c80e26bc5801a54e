"""The page over HTTP: the static files, the questions, runs shared between devices. Knows no geometry."""
