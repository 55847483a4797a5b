"""Many jobs in one go: what is asked, the work on one of them, the run over all, and the table of it."""
