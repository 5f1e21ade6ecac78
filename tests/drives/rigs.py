"""Small rigs, one a drive, each with a check in closed form."""

HEAD = "rig: 1\nname: Bench\n"

ARM = """
points: {hub: 0 0 500 mm, tip: 300 0 500 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 500 mm, of: pine, at: 0 0 250 mm}]}
  arm:
    parts:
      - {slender: 1 g, from: hub, to: tip}
      - {lump: %(mass)s, at: tip}
joints:
  hub: {pin: [post, arm], at: hub, axis: -y}
"""

WHEEL = """
points: {hub: 0 0 500 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 500 mm, of: pine, at: 0 0 250 mm}]}
  wheel: {parts: [{lump: 1 kg, at: hub, inertia: [%(inertia)s, %(inertia)s, %(inertia)s]}]}
joints:
  hub: {pin: [post, wheel], at: hub, axis: y, friction: %(friction)s}
"""

SLED = """
points: {low: 0 0 200 mm, high: 0 0 500 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 100 mm, of: pine, at: 0 0 50 mm}]}
  sled: {parts: [{lump: %(mass)s, at: high}]}
joints:
  rail: {slider: [post, sled], at: high, along: %(along)s}
"""


def arm(rest: str, mass: str = "1 kg") -> str:
    """A weight on an arm of 0.3 m that starts level; a positive angle lifts it."""
    return HEAD + ARM % {"mass": mass} + rest


def wheel(rest: str, friction: str = "0 N*m", inertia: str = "0.01 kg*m^2") -> str:
    """A wheel with a brake."""
    return HEAD + WHEEL % {"friction": friction, "inertia": inertia} + rest


def sled(rest: str, mass: str = "2 kg", along: str = "z") -> str:
    """A mass on a smooth rail."""
    return HEAD + SLED % {"mass": mass, "along": along} + rest
