"""Air, lift and drag, flight and impact of a golf ball: plain numpy functions, unit and source in every docstring.

Used for differences and for prior knowledge, never as an absolute oracle of carry: the spin of a wedge shot lies at
the edge of what has been published (docs/method/model.md).
"""
