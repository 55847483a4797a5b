"""The smallest changes that would make an option win: proposed, tried out cheaply, and proved by rerunning."""
