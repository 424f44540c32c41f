"""The drill: which distances are called, the machine that steps from ball to ball, and what it came to."""
