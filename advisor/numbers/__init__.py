"""The numbers of the chosen path with the spread of the coefficients carried through."""
