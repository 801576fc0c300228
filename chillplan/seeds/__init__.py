"""Species, recipes and the simulation of a sowing."""
