"""What a page that moves holds, read back from its own bytes: the messages that its viewer replays."""

from __future__ import annotations

import base64
import html
import re
from dataclasses import dataclass, field
from typing import Any

import msgspec
import numpy as np
import zstandard
from scipy.spatial.transform import Rotation

Row = dict[str, Any]


@dataclass
class Held:
    """Messages with their times (s), the arrays that they name, and how long the motion is (s)."""

    messages: list[tuple[float, Row]]
    arrays: list[bytes]
    duration: float

    def until(self, time: float) -> Replay:
        """All as it stands at a time (s), as a viewer gets there: message after message."""
        found = Replay()
        for when, message in self.messages:
            if when > time + 1e-6:
                break
            found.take(message, self)
        return found

    def array(self, value: Any) -> np.ndarray:
        """An array that a message names, flat."""
        return np.frombuffer(self.arrays[value["__binary_index"]], value["dtype"])


@dataclass
class Replay:
    """Place and turn (w x y z) of each node and bone, and all that nodes were made and changed with."""

    place: dict[str, np.ndarray] = field(default_factory=dict)
    turn: dict[str, np.ndarray] = field(default_factory=dict)
    bones: dict[tuple[str, int], list[Any]] = field(default_factory=dict)
    props: dict[str, Row] = field(default_factory=dict)

    def take(self, message: Row, held: Held) -> None:
        """One message more."""
        kind, name = message["type"], message.get("name", "")
        if kind == "SetPositionMessage":
            self.place[name] = np.array(message["position"])
        elif kind == "SetOrientationMessage":
            self.turn[name] = np.array(message["wxyz"])
        elif kind in ("SetBonePositionMessage", "SetBoneOrientationMessage"):
            bone = self.bones.setdefault((name, message["bone_index"]), [None, None])
            which = 0 if kind == "SetBonePositionMessage" else 1
            bone[which] = np.array(message["position" if which == 0 else "wxyz"])
        elif kind == "SceneNodeUpdateMessage":
            self.props[name] = {**self.props.get(name, {}), **message["updates"]}
        elif "props" in message:
            self.props[name] = dict(message["props"])
            if kind == "SkinnedMeshMessage":
                places = held.array(message["props"]["bone_positions"]).reshape(-1, 3)
                turns = held.array(message["props"]["bone_wxyzs"]).reshape(-1, 4)
                self.bones |= {(name, k): [*both] for k, both in enumerate(zip(places, turns, strict=True))}

    def at(self, name: str, points: np.ndarray) -> np.ndarray:
        """Points (k, 3) of a node in the world, m."""
        size = np.broadcast_to(self.props[name].get("scale", 1.0), 3)
        turn = Rotation.from_quat(self.turn.get(name, np.array([1.0, 0, 0, 0]))[[1, 2, 3, 0]])
        return np.asarray(self.place.get(name, np.zeros(3)) + turn.apply(points * size))


def held(page: str) -> Held:
    """What the page's viewer is handed."""
    inner = html.unescape(re.search(r'<iframe [^>]*srcdoc="([^"]*)"', page)[1])  # type: ignore[index]
    packed = base64.b64decode(re.search(r'__VISER_EMBED_DATA__="([^"]*)"', inner)[1])  # type: ignore[index]
    size = int.from_bytes(packed[:8], "little")
    data = zstandard.ZstdDecompressor().decompress(packed[8:], max_output_size=size)
    end = 8 + int.from_bytes(data[:8], "little")
    found = msgspec.msgpack.decode(data[8:end])
    arrays, start = [], end
    for length in found["binaryBufferLengths"]:
        start += -start % 8
        arrays.append(data[start : start + length])
        start += length
    return Held([(t, m) for t, m in found["messages"]], arrays, found["durationSeconds"])
