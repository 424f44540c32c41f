"""The next practice session: which shots to hit, how many of each, in which order, so that a chart becomes surest."""
