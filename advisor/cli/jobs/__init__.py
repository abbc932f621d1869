"""What was sprayed: jobs with their coats and clocks, and how far a coat has hardened."""
