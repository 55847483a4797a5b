"""What one step does to the metal: the process formulas put to work on a chosen set-up."""
