"""Rules meet facts: which rules fire in a situation, and on what."""
