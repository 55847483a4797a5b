"""The cheapest admissible chain of steps from the surface at hand to the finish asked for."""
