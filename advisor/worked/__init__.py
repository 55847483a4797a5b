"""Worked jobs: jobs with what must, may and must not come out, so that knowledge is tried as a whole."""
