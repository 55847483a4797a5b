"""Why this, and why not that: the chain from a value on the sheet back to what was asked and to the sources."""
