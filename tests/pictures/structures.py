"""Layers that the tests of the pictures draw: a fine dressing, straight and crossed grooves, two layers, a wide dressing."""

from __future__ import annotations

from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Form, Layer, Profile

FINE = (Layer(Dressing(0.5, 20, 0.14, Hand.RIGHT, 350, 1000, 10)),)
WIDE = (Layer(Dressing(0.381, 25.4, 1.0, Hand.LEFT, 350, 900, 10)),)
STRAIGHT = (Layer(Profile(Form.VEE, 0.5, 0.2, 20)),)
WALLED = (Layer(Profile(Form.RECTANGULAR, 1.0, 0.4, 15)),)
CROSSED = (
    Layer(Profile(Form.ARC, 0.8, 0.35, 20, 5)),
    Layer(Profile(Form.ARC, 0.8, 0.35, 20, -5)),
)
TWO = (Layer(Profile(Form.VEE, 0.3, 0.15, 8)), Layer(Profile(Form.PARABOLA, 2.0, 0.6, 25, 3), lift_um=5))
ACROSS = (Layer(Profile(Form.VEE, 1.0, 0.3, 10, 90)),)
EVERY = {
    "fine": FINE,
    "wide": WIDE,
    "straight": STRAIGHT,
    "walled": WALLED,
    "crossed": CROSSED,
    "two": TWO,
    "across": ACROSS,
}
