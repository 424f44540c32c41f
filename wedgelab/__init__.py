"""Learn how far each partial wedge shot carries, choose the right one, and practise it."""

__version__ = "0.1.0"
