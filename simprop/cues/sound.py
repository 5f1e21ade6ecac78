"""Reads sound files: WAV with nothing else installed, other formats where soundfile is."""

from __future__ import annotations

import io
import wave

import numpy as np
from numpy.typing import NDArray


def read_sound(content: bytes, name: str) -> tuple[NDArray[np.float64], float]:
    """Samples of a sound file between -1 and 1, and how many there are a second.

    Args:
        content: of a WAV file (8, 16, 24 or 32 bit whole numbers), or of anything that soundfile reads where it is
            installed.
        name: of the file, for messages.

    Returns:
        ((n,) for one channel or (n, channels), samples a second).

    Raises:
        OSError: when it isn't a sound that can be read here.

    Example:
        >>> file = io.BytesIO()
        >>> with wave.open(file, "wb") as writer:
        ...     writer.setparams((1, 2, 8000, 0, "NONE", ""))
        ...     writer.writeframes(np.array([0, 16384], dtype="<i2").tobytes())
        >>> read_sound(file.getvalue(), "tick.wav")[0].tolist()
        [0.0, 0.5]
    """
    try:
        return _read_wav(content)
    except (wave.Error, EOFError):
        return _read_other(content, name)


def _read_wav(content: bytes) -> tuple[NDArray[np.float64], float]:
    with wave.open(io.BytesIO(content), "rb") as file:
        width, channels, rate = file.getsampwidth(), file.getnchannels(), file.getframerate()
        raw = file.readframes(file.getnframes())
    if width == 1:
        samples = np.frombuffer(raw, dtype=np.uint8).astype(np.float64) / 128.0 - 1.0
    elif width == 3:
        parts = np.frombuffer(raw, dtype=np.uint8).reshape(-1, 3).astype(np.int32)
        whole = parts[:, 0] | (parts[:, 1] << 8) | (parts[:, 2] << 16)
        samples = np.where(whole >= 1 << 23, whole - (1 << 24), whole) / float(1 << 23)
    else:
        samples = np.frombuffer(raw, dtype=f"<i{width}").astype(np.float64) / float(1 << (8 * width - 1))
    return (samples if channels == 1 else samples.reshape(-1, channels)), float(rate)


def _read_other(content: bytes, name: str) -> tuple[NDArray[np.float64], float]:
    try:
        import soundfile
    except ImportError:
        raise OSError(f"{name} isn't a plain WAV file; pip install soundfile reads more kinds") from None
    try:
        samples, rate = soundfile.read(io.BytesIO(content), dtype="float64")
    except RuntimeError as error:
        raise OSError(f"{name} isn't a sound that can be read: {error}") from None
    return np.asarray(samples, dtype=np.float64), float(rate)
