"""What raceways, fittings and benders are: figures with their sources."""
