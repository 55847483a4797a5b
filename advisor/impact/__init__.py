"""What a change of the knowledge does to the recommendations that are known."""
