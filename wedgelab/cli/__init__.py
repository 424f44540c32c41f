"""The command line: one family of commands a file, and one place that turns errors into a line and an exit code."""
