"""What trials teach: calibrated coefficients, the track record of rules, and proposals for people to accept."""
