"""Units of our own short list against pint's own definitions, which the package doesn't load."""

from __future__ import annotations

import subprocess
import sys
import time

import pint
import pytest

from simprop.quantities import KINDS, LITERAL, QuantityError, is_unit, literal, registry, to_si, whole_literal

# What rigs, catalogue, README and tests are written in, and what else a builder's tape, scale or data sheet says.
WRITTEN = """
    m mm cm km um in inch inches ft foot feet yd thou m^2 cm^2 mm^2 in^2 ft^2 l L
    kg g mg lb lbs oz t tonne s ms us min h hr deg degree degrees rad turn m/s mm/s ft/s mph km/h knot
    rpm rad/s deg/s rps m/s^2 N kN mN daN lbf ozf kgf gf kip N*m N*mm cN*m kgf*cm lbf*in lbf*ft ozf*in
    N/m N/mm kN/m lbf/in N*m/rad N*mm/deg N*s/m N*m*s/rad kg*m^2 kg*mm^2 g*cm^2 kg/m^3 g/cm^3 lb/ft^3
    Pa kPa MPa GPa bar psi ksi atm V mV kV A mA Ah mAh ohm kohm mohm Ω ohm/kft W kW mW hp VA J kJ Wh kWh
    g/m kg/m g/m^2 kg/m^2 Hz kHz rad/s^2 K/W J/K V*s/rad N*m/A V/A K F uF H mH l/min
"""


@pytest.mark.parametrize("unit", WRITTEN.split())
def test_a_unit_is_what_pint_says(unit: str) -> None:
    theirs = _pint().Quantity(1.0, unit.replace("/kft", "/ft") if "kft" in unit else unit).to_base_units()
    assert is_unit(unit)
    ours = registry().Quantity(1.0, unit).to(str(theirs.units))
    assert float(ours.magnitude) == pytest.approx(
        float(theirs.magnitude) / (1000.0 if "kft" in unit else 1.0), rel=1e-12
    )


def test_temperatures() -> None:
    # The fixed points of the two scales: 32 and 212 degF, 0 and 100 degC.
    for text, want in (("32 degF", 0.0), ("212 degF", 100.0), ("-40 °F", -40.0), ("373.15 K", 100.0)):
        assert to_si(whole_literal(text), "temperature") == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_examples_of_each_kind_can_be_written(kind: str) -> None:
    for example in KINDS[kind][1].split(", "):
        assert to_si(whole_literal(example), kind) > 0.0


def test_written_units_of_the_examples_are_tested_above() -> None:
    used = {unit for _, example, _ in KINDS.values() for _, unit in LITERAL.findall(example) if unit}
    assert used - set(WRITTEN.split()) == {"degC", "degF"}


@pytest.mark.parametrize(
    "text", ["furlong", "Nm", "mmm", "9**9**9", "m" * 10_000, "", "1", "N*", "pin", "rod"]
)
def test_not_a_unit(text: str) -> None:
    start = time.process_time()
    assert not is_unit(text)
    assert time.process_time() - start < 0.1


def test_a_mistaken_unit_gets_the_nearest_one() -> None:
    with pytest.raises(QuantityError, match=r"^'Nm' is not a unit; did you mean 'N\*m'\?$"):
        literal("3", "Nm")


def _pint() -> pint.UnitRegistry:
    return pint.application_registry.get()


def test_the_list_is_read_in_no_time() -> None:
    code = (
        "import time, simprop.quantities as q; start = time.process_time(); q.registry();"
        "print(time.process_time() - start)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert float(result.stdout) < 0.1  # pint's own list: 0.25 s on the same machine
