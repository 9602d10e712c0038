"""What is asked: reading a study file, its faults, its variables."""
