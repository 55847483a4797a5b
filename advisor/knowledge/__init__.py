"""The knowledge base: what the rules and tables say, as one immutable object."""
