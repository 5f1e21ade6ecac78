"""A run and all that follows from it, each result worked out once, when it is asked for."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.world import Trajectory
from simprop.errors import EngineError, EngineMissingError
from simprop.loads.binding import Binding, binding
from simprop.loads.driving import DriveRows, driven
from simprop.loads.energy import LARGEST_RESIDUAL, likely_cause
from simprop.loads.joints import JointLoads, joint_loads
from simprop.loads.own import Own, own_differences
from simprop.loads.ringing import Ringing, ringing
from simprop.recording import Band, Recording
from simprop.rig.model import Rig
from simprop.run.again import as_rigid, with_stops, without_limits
from simprop.run.cautions import cautions
from simprop.run.once import Report
from simprop.sizing.sizing import MotorSize, size_motors
from simprop.sizing.supplies import SupplyUse, limited, supply_use, verdict
from simprop.strength.report import StrengthReport, strength


@dataclass(frozen=True)
class Run:
    """A run, fresh or from a saved recording, with its results; it is handed to every report, picture and export.

    Attributes:
        recording: motion and applied loads at every physics step, with the assembly and its laws.
        known: joint loads where they are known already; else they are worked out when asked for.
        second: the same rig run by another engine, as a second opinion; None where none was asked for.
        report: told how far the checks of its strength are (see `simprop.strength.report.strength`).

    Example:
        >>> import simprop
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> simprop.simulate(rig, "mujoco").loads.worst.name
        'hook'
    """

    recording: Recording
    known: JointLoads | None = None
    second: Run | None = None
    report: Report | None = field(default=None, compare=False, repr=False)

    @property
    def assembly(self) -> Assembly:
        """What was run."""
        return self.recording.assembly

    @property
    def rig(self) -> Rig:
        """The rig it was made from."""
        return self.recording.assembly.rig

    @property
    def laws(self) -> Actuation:
        """All that acted on it."""
        return self.recording.laws

    @property
    def track(self) -> Trajectory:
        """Motion and applied loads at every physics step."""
        return self.recording.track

    @cached_property
    def loads(self) -> JointLoads:
        """Wrenches, peaks of joints, motors, stops and contacts, and the audit of the energy."""
        return joint_loads(self.recording) if self.known is None else self.known

    @cached_property
    def binding(self) -> tuple[Binding, ...]:
        """How near each slide comes to binding."""
        return binding(self.recording, self.loads.wrenches)

    @cached_property
    def own(self) -> tuple[Own, ...]:
        """The engine's own joint forces beside the loads; none where it tells none."""
        return own_differences(self.loads)

    @cached_property
    def rigid(self) -> JointLoads | None:
        """Loads of the same run with nothing that bends or gives; None where nothing does, or it can't be run here."""
        if not self.assembly.gives:
            return None
        try:
            return joint_loads(as_rigid(self.recording))
        except (EngineMissingError, EngineError):
            return None

    @cached_property
    def other_stops(self) -> tuple[JointLoads, JointLoads] | None:
        """Loads of the same run with stops of half and of double stiffness; None where none is met or it can't run."""
        if not any(p.value > 0.0 for p in self.loads.stops):
            return None
        try:
            softer, stiffer = (joint_loads(with_stops(self.recording, share)) for share in (0.5, 2.0))
        except (EngineMissingError, EngineError):
            return None
        return softer, stiffer

    @cached_property
    def ringing(self) -> tuple[Ringing, ...]:
        """How each body that the run took as rigid would have rung in it."""
        return ringing(self.recording, self.loads.starting)

    @cached_property
    def drives(self) -> tuple[DriveRows, ...]:
        """What each motor and pusher did (constant torques and pulls left out)."""
        return tuple(d for d in self.loads.driven if d.figures.sized)

    @cached_property
    def unlimited(self) -> tuple[DriveRows, ...] | None:
        """What the drives ask for from supplies without limit, by one more run; None where no supply limits them.

        Also None where the engine of the run isn't installed here: see `not_repeated`.
        """
        if not limited(self.drives):
            return None
        try:
            return tuple(d for d in driven(without_limits(self.recording)) if d.figures.sized)
        except EngineMissingError:
            return None

    @property
    def not_repeated(self) -> str:
        """Why what a limited supply keeps back isn't known, in words; "" where it is known or nothing is kept back."""
        if self.unlimited is not None or not limited(self.drives):
            return ""
        return (
            f"a supply gives all it can, and the run can't be repeated without its limit (engine "
            f"{self.recording.engine} isn't installed here): what the prop would ask for is not computed"
        )

    @cached_property
    def supplies(self) -> tuple[SupplyUse, ...]:
        """What each supply gave, and what it was asked for."""
        return supply_use(self.drives, self.unlimited)

    @property
    def supply_warnings(self) -> tuple[str, ...]:
        """Supplies that hold a motor back, one sentence each; none where all carry their drives."""
        kept = tuple(f"{', '.join(u.users)}: {verdict(u)}" for u in self.supplies if u.holds_back)
        return (*kept, self.not_repeated) if self.not_repeated else kept

    def sizes(self, hours: float = 4.0, ambient: float = 20.0) -> tuple[MotorSize, ...]:
        """Margins, classes that would do, supply and heat of each motor over an evening.

        Args:
            hours: length of the evening over which the run is repeated.
            ambient: air, degC.
        """
        return size_motors(self.recording, self.drives, self.supplies, self.unlimited, hours, ambient)

    @cached_property
    def strength(self) -> StrengthReport:
        """What breaks first."""
        return strength(self.loads, self.report)

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of, from what the prop has."""
        return cautions(self.rig)

    def with_bands(self, bands: dict[str, Band]) -> Run:
        """The same run with numerical bands put to its peaks."""
        known = self.loads.with_bands(bands)
        return Run(known.recording, known)

    def adds_up(self) -> Run:
        """This run, after looking that its energy adds up to 2 %.

        Raises:
            EngineError: when more than that is unexplained, or the audit isn't a number.
        """
        audit = self.loads.energy
        if adrift(audit.share):
            raise EngineError(
                f"the energy of the run doesn't add up: {100 * (audit.share or 0):.1f} % of what was exchanged is "
                f"unexplained at a step of {self.track.step * 1000:.3g} ms (at most "
                f"{100 * LARGEST_RESIDUAL:.0f} % is let pass); {likely_cause(audit)}"
            )
        return self


def adrift(share: float | None) -> bool:
    """True if so large a share of a run's energy is unexplained that its loads can't be trusted; NaN is.

    Example:
        >>> adrift(None), adrift(0.01), adrift(0.03), adrift(float("nan"))
        (False, False, True, True)
    """
    return share is not None and not share <= LARGEST_RESIDUAL
