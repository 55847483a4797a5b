"""What was tried and what came of it: the trial as a model, its file, and the log that never forgets."""
