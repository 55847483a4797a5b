"""The command line: it reads, calls, writes, and ends with an exit code; it decides nothing itself."""
