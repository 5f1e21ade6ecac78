"""Jaw from sound."""

import math

import numpy as np
import pytest

from simprop.errors import SimpropError
from simprop.laws.servo import Servo, speed_from_time
from simprop.laws.speech import Envelope, envelope, jaw_angle, speak, travel, verdict

RATE = 16000


def syllables(per_second, length=3.0):
    """A 150 Hz voice whose loudness swells and falls: sin^2, so the RMS goes with |sin| of the same."""
    t = np.arange(0, length, 1 / RATE)
    return np.sin(2 * np.pi * 150 * t) * np.sin(np.pi * per_second * t) ** 2


def test_envelope_finds_the_swell():
    sound = envelope(syllables(4.0), RATE)
    want = np.sin(np.pi * 4.0 * sound.time) ** 2
    middle = (sound.time > 0.2) & (sound.time < 2.8)
    assert np.corrcoef(sound.loudness[middle], want[middle])[0, 1] > 0.99


def test_envelope_ignores_scale_and_channels():
    one = syllables(4.0)
    both = np.stack([one, one], axis=1) * 12345.0
    assert np.allclose(envelope(one, RATE).loudness, envelope(both, RATE).loudness)


def test_silence_and_scraps():
    assert not envelope(np.zeros(RATE), RATE).loudness.any()
    with pytest.raises(SimpropError):
        envelope(np.zeros(100), RATE)
    with pytest.raises(SimpropError, match="silent"):
        speak(Servo(5.0, 0.3, 1.0, 0.0, 5.0), envelope(np.zeros(RATE), RATE), 0.3)


def test_speed_limited_servo_loses_what_the_triangle_says():
    # a servo that can only slew at w follows a fast, wide swing as a triangle of height w T / 2 each half
    # period
    t = np.arange(0, 6, 0.005)
    period, opening = 0.2, 1.2
    words = Envelope(t, 0.5 - 0.5 * np.cos(2 * np.pi * t / period))
    quick = Servo(3.0, 0.3, 1.0, 0.0, 5.0, dead_band=0.0, full_band=0.005, run_up=0.002)
    got = speak(quick, words, opening)
    want = 1 - (3.0 * period / 2) / opening
    assert got.lost == pytest.approx(want, abs=0.03)


def test_slow_and_fast_servo():
    sound = envelope(syllables(4.5), RATE)
    standard = Servo(speed_from_time(0.12), 0.39, 1.0, 0.01, 6.0, friction=0.02, run_up=0.01)
    slow = Servo(speed_from_time(0.8), 0.39, 1.0, 0.01, 6.0, friction=0.02)
    opening = math.radians(20)
    good, bad = speak(standard, sound, opening), speak(slow, sound, opening)
    assert good.lost < 0.25
    assert bad.lost > 0.7
    assert good.lag < bad.lag
    assert "too slow" in verdict(bad)
    assert speak(standard, sound, opening, voltage=3.0).lost > good.lost


def test_travel_and_angle():
    assert travel(np.array([0.0, 1.0, 0.0])) == 2.0
    assert np.allclose(jaw_angle(Envelope(np.zeros(2), np.array([0.0, 1.0])), -0.3, 0.1), [0.1, -0.2])
