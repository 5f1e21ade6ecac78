"""A jaw that follows speech: sound to loudness to jaw angle, and what part of it a servo can follow.

Loudness is the root mean square of the sound in short windows, smoothed, and set against the loudest
tenth of the clip; the jaw opens in proportion. Speech has 4 to 5 syllables a second, and props open their
jaw by 10 to 25 degrees (common practice, no source). Travel is the sum of all openings and closings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.errors import SimpropError
from simprop.geometry.arrays import Array
from simprop.laws.servo import Servo, follow


@dataclass(frozen=True)
class Envelope:
    """Loudness over time.

    Attributes:
        time: (n,) s, 5 ms apart.
        loudness: (n,), 0 quiet to 1 loud.
    """

    time: Array
    loudness: Array


WINDOW = 0.005
"""Step of the envelope, s."""


def envelope(samples: Array, rate: float, smooth: float = 0.04, gate: float = 0.05) -> Envelope:
    """Loudness of a sound.

    Args:
        samples: (n,) of one channel, or (n, channels); any scale.
        rate: samples a second, 2000 or more.
        smooth: time over which loudness is averaged, s (a syllable lasts about 200 ms).
        gate: share of the loud level under which it counts as silence.

    Returns:
        One value each 5 ms; all zero for silence.

    Raises:
        SimpropError: for a sound shorter than 50 ms or a rate below 2000 a second.

    Example:
        >>> t = np.arange(0, 1, 1 / 8000)
        >>> loud = envelope(np.sin(2 * np.pi * 200 * t) * (t > 0.5), 8000.0)
        >>> bool(loud.loudness[20] == 0 and loud.loudness[150] > 0.95)
        True
    """
    if rate < 2000 or len(samples) < 0.05 * rate:
        raise SimpropError("a sound of 50 ms or longer is wanted, with 2000 samples a second or more")
    mono = samples if samples.ndim == 1 else samples.mean(axis=1)
    square = np.concatenate([[0.0], np.cumsum(mono.astype(np.float64) ** 2)])
    time = np.arange(0, len(mono) / rate, WINDOW)
    low = np.clip(np.round((time - smooth / 2) * rate).astype(int), 0, len(mono))
    high = np.clip(np.round((time + smooth / 2) * rate).astype(int), 1, len(mono))
    level = np.sqrt(np.maximum(square[high] - square[low], 0.0) / np.maximum(high - low, 1))
    loud = float(np.quantile(level, 0.9))
    if loud <= 0:
        return Envelope(time, np.zeros(len(time)))
    share = np.clip(level / loud, 0.0, 1.0)
    return Envelope(time, np.where(share < gate, 0.0, share))


def jaw_angle(sound: Envelope, opening: float, closed: float = 0.0) -> Array:
    """Commanded angle of the jaw: ``closed + opening * loudness``, (n,) rad.

    Args:
        opening: greatest opening, rad, either sign.
        closed: angle with the mouth shut, rad.

    Example:
        >>> float(jaw_angle(Envelope(np.array([0.0]), np.array([0.5])), 0.4, 0.1)[0])
        0.30000000000000004
    """
    return closed + opening * sound.loudness


def travel(angle: Array) -> float:
    """All openings and closings added up, rad.

    Args:
        angle: (n,) rad.

    Example:
        >>> travel(np.array([0.0, 0.3, 0.1, 0.2]))
        0.6
    """
    return float(np.sum(np.abs(np.diff(angle))))


@dataclass(frozen=True)
class Spoken:
    """How a servo follows the speech.

    Attributes:
        time: (n,) s.
        command: wanted angle, (n,) rad.
        angle: what the servo reaches without load torque, (n,) rad.
        lost: share of the commanded travel that the servo doesn't make, 0 to 1.
        lag: delay at which its motion fits the command best, s.
    """

    time: Array
    command: Array
    angle: Array
    lost: float
    lag: float


def speak(
    servo: Servo, sound: Envelope, opening: float, voltage: float | None = None, load_inertia: float = 0.0
) -> Spoken:
    """Lets a servo follow a sound.

    Args:
        opening: of the jaw, rad.
        voltage: at the servo, V; None for its rated voltage.
        load_inertia: of the jaw, kg*m^2.

    Raises:
        SimpropError: for a sound that asks for no travel at all.

    Example:
        >>> t = np.arange(0, 2, 0.005)
        >>> words = Envelope(t, 0.5 - 0.5 * np.cos(2 * np.pi * 4 * t))
        >>> slow, fast = Servo(1.0, 0.3, 1.0, 0.0, 5.0), Servo(12.0, 0.3, 1.0, 0.0, 5.0, run_up=0.005)
        >>> speak(slow, words, 0.35).lost > 0.3 > 0.1 > speak(fast, words, 0.35).lost
        True
    """
    command = jaw_angle(sound, opening)
    wanted = travel(command)
    if wanted <= 0:
        raise SimpropError("the sound is silent: the jaw has nothing to follow")
    angle = follow(servo, sound.time, command, voltage, load_inertia)
    lost = max(0.0, 1 - travel(angle) / wanted)
    return Spoken(sound.time, command, angle, lost, _lag(command, angle))


def _lag(command: Array, angle: Array) -> float:
    """First shift, up to 0.5 s, at which the two fit within a twentieth of the best."""
    shifts = range(min(100, len(command) // 2))
    misfit = [float(np.mean((angle[k:] - command[: len(command) - k]) ** 2)) for k in shifts]
    good = min(misfit) + 0.05 * (max(misfit) - min(misfit))
    return WINDOW * next(k for k, v in zip(shifts, misfit, strict=True) if v <= good)


def verdict(spoken: Spoken) -> str:
    """One sentence on how well the jaw follows.

    Args:
        spoken: of `speak`.

    Example:
        >>> nothing = np.zeros(1)
        >>> verdict(Spoken(nothing, nothing, nothing, 0.42, 0.09))
        'the servo loses 42 % of the jaw travel and lags 90 ms: too slow for this speech'
    """
    said = f"the servo loses {100 * spoken.lost:.0f} % of the jaw travel and lags {1000 * spoken.lag:.0f} ms"
    if spoken.lost > 0.25:
        return f"{said}: too slow for this speech"
    if spoken.lost > 0.10:
        return f"{said}: quick syllables blur"
    return f"{said}: it follows"
