"""Motor curves, cue sheets and clips with sound."""

import subprocess

import numpy as np
import pytest
from PIL import Image

from simprop.engine.acting.program import script
from simprop.errors import RenderError, UnknownNameError
from simprop.picture.chart.drive_plots import cue_plot, motor_curves
from simprop.picture.clip.sound import add_sound, sounds
from simprop.picture.encode import Encoder, ffmpeg
from simprop.rig.load import load_rig, parse_rig
from simprop.run.simulate import simulate
from tests.drives.rigs import arm, wheel
from tests.drives.test_sizing import CUES, JAW, tone


def dark(path):
    """Share of the picture that isn't white."""
    return float((np.asarray(Image.open(path).convert("L")) < 200).mean())


def test_motor_curves_with_operating_points(tmp_path):
    text = "motors: {lift: {joint: hub, motor: wiper, supply: 5 V 10 A}}\nrun: {for: 0.5 s}"
    run = simulate(parse_rig(wheel(text, "2 N*m")), "mujoco", settle=False)
    bare = motor_curves("wiper medium low", tmp_path / "bare.png")
    dots = motor_curves("wiper medium low", tmp_path / "dots.png", used=run.drives)
    assert 0.005 < dark(bare) < 0.2
    assert not np.array_equal(np.asarray(Image.open(bare)), np.asarray(Image.open(dots)))
    with pytest.raises(RenderError, match="no speed-torque line"):
        motor_curves("synchronous", tmp_path / "none.png")
    with pytest.raises(UnknownNameError):
        motor_curves("wipper", tmp_path / "none.png")


def test_cue_plot(tmp_path):
    path = cue_plot(simulate(parse_rig(wheel(CUES)), "mujoco", settle=False).recording, tmp_path / "cues.png")
    assert dark(path) > 0.01


def test_sound_is_put_into_a_clip(tmp_path):
    tone(tmp_path / "hoot.wav")
    (tmp_path / "owl.yaml").write_text(arm(JAW % "servo standard", "20 g"))
    rig = load_rig(tmp_path / "owl.yaml")
    played = sounds(script(rig).events)
    assert played == ((0.5, "hoot.wav"),)
    clip = tmp_path / "clip.mp4"
    encoder = Encoder(clip, None, (64, 48), 25.0)
    for k in range(75):
        encoder.add(np.full((48, 64, 3), k, dtype=np.uint8))
    encoder.close()
    add_sound(clip, rig.source, played)
    told = subprocess.run([ffmpeg(), "-i", str(clip)], capture_output=True, text=True, check=False).stderr
    assert "Audio: aac" in told
    assert "Duration: 00:00:03" in told or "Duration: 00:00:02.9" in told
    raw = subprocess.run(
        [ffmpeg(), "-loglevel", "error", "-i", str(clip), "-f", "s16le", "-ac", "1", "-ar", "8000", "-"],
        capture_output=True,
        check=True,
    ).stdout
    heard = np.abs(np.frombuffer(raw, dtype="<i2").astype(float))
    assert heard[:3600].max() < 200
    assert heard[4400:20000].max() > 5000
    with pytest.raises(RenderError, match="there is no file"):
        add_sound(clip, rig.source, [(0.0, "none.wav")])
