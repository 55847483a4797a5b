"""The interview: a job asked for in plain questions, as data and pure functions; nothing here talks."""
