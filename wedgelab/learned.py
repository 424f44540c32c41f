"""What a session taught the chart: every cell before and after it."""
