"""What speaks for and against each option of a decision, and which one stands."""
