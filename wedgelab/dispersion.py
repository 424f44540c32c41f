"""Where the balls of a wedge come down: carry by sideways miss, with the region of eight balls of ten."""
