"""The interview: a job asked for in plain questions, as data and pure functions; the talking is done elsewhere."""
