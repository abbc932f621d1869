"""What is meant and what is to come: plans, and the day ahead."""
