"""What is broken: faults put into a stage, what the bench then shows, and which measurement to take next."""
