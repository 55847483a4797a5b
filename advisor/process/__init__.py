"""Plain formulas of finishing in SI units, so that the search and the sheet use the same physics."""
