"""Bounce of a mass on a contact, in closed form; `tests/laws/test_contact.py` holds it to the equation of motion."""

from __future__ import annotations

from math import acos, atan2, cos, exp, pi, sqrt


def restitution(loss: float) -> float:
    """Speed after over speed before of a mass that meets a contact, without weight.

    Args:
        loss: damping ratio, 0 to below 1.

    Source: Schwager and Poeschel (2007), the contact ends when its force does.
    """
    swing = sqrt(1.0 - loss * loss)
    return exp(-loss / swing * _touching(loss))


def touch_time(loss: float, frequency: float) -> float:
    """How long such a contact lasts, s.

    Args:
        loss: damping ratio, 0 to below 1.
        frequency: sqrt(k / m), rad/s.

    Source: Schwager and Poeschel (2007), as for `restitution`.
    """
    return _touching(loss) / (sqrt(1.0 - loss * loss) * frequency)


def _touching(loss: float) -> float:
    """Damped phase at which the force k d + c d' comes to nought, rad."""
    return pi - atan2(2.0 * loss * sqrt(1.0 - loss * loss), 1.0 - 2.0 * loss * loss)


def bounce_force(stiffness: float, loss: float, mass: float, speed: float) -> float:
    """Largest force of such a contact, N, without weight.

    Without loss v sqrt(k m); with loss the largest of k d + c d' over the touch.

    Args:
        stiffness: N/m.
        loss: damping ratio, 0 to below 1.
        mass: kg.
        speed: at which it meets the contact, m/s.

    Source: the damped oscillator, any text on vibrations.
    """
    frequency, swing = sqrt(stiffness / mass), sqrt(1.0 - loss * loss)
    # Force over v m w is exp(-loss s) (2 loss cos + (1 - 2 loss^2) / swing sin)(swing s); it peaks where that is level.
    phase = acos(max(-1.0, min(1.0, loss * (3.0 - 4.0 * loss * loss)))) if loss < 0.5 else 0.0
    share = exp(-loss / swing * phase) * (
        2.0 * loss * cos(phase) + (1.0 - 2.0 * loss * loss) / swing * sqrt(1.0 - cos(phase) ** 2)
    )
    return share * speed * mass * frequency
