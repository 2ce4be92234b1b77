"""What a moisture meter's reading is worth: corrected for temperature and species.

The readings of pin meters are taken at the temperature of the wood. Corrections are points of
moisture; the species' own come from the booklet of the user's meter, never from here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from shrinkage.errors import ShrinkageError
from shrinkage.job_site import MoistureMeterSpec
from shrinkage.jobfile import Source
from shrinkage.species import Species, find
from shrinkage.units import fahrenheit

PERCENT_PER_C = 0.5 / 5.6
"""GTR-190 ch. 13: about 0.5 % moisture for each 10 F (5.6 C) from the calibration temperature."""
QUALITATIVE_ABOVE = 30.0
"""GTR-190 ch. 13: readings above this are qualitative only [%]."""
QUALITATIVE = f"above {QUALITATIVE_ABOVE:g} % a meter only says that the wood is wet"
DEFAULTS = MoistureMeterSpec(name="meter")


def temperature_corrected(
    reading: float, wood_temp: float, calibrated_at: float = DEFAULTS.calibrated_at
) -> float:
    """Correct a pin meter reading for the temperature of the wood (GTR-190 ch. 13).

    About 0.5 % moisture for each 5.6 C from the calibration temperature, added when colder.

    Parameters
    ----------
    reading : float
        Moisture content shown [%].
    wood_temp, calibrated_at : float
        Temperature of the wood, and the one the meter is made for [deg C].

    Returns
    -------
    float
        Corrected moisture content [%].
    """
    return reading + PERCENT_PER_C * (calibrated_at - wood_temp)


@dataclass(frozen=True)
class Corrected:
    """A reading, and what it comes to.

    Parameters
    ----------
    moisture : float
        Corrected [%].
    how : str
        In words, with every correction named.
    """

    moisture: float
    how: str


@dataclass(frozen=True)
class Meter:
    """A moisture meter.

    Parameters
    ----------
    name : str
        What it is called; empty where the job names none, and then only temperature is corrected.
    calibrated_at : float
        Temperature it is made for [deg C].
    by_species : mapping of str to float
        Points to add, by a species' name [%].
    error : float or None
        One standard deviation of a reading up to 30 % [%]; None where the spread's own holds.
    error_above_30 : float
        The same above 30 % [%].
    """

    name: str = ""
    calibrated_at: float = DEFAULTS.calibrated_at
    by_species: Mapping[str, float] = field(default_factory=dict)
    error: float | None = None
    error_above_30: float = DEFAULTS.error_above_30

    def corrected(self, reading: float, species: Species, wood_temp: float | None) -> Corrected:
        """Return what a reading comes to.

        Parameters
        ----------
        reading : float
            Moisture content shown [%].
        species : Species
            The wood.
        wood_temp : float or None
            Its temperature; None where it was not taken, and then nothing is corrected for it
            [deg C].
        """
        moisture, rules = reading, ["no temperature correction"]
        head = f"metered {reading:g} %" + (f" with {self.name}" if self.name else "")
        if wood_temp is not None:
            moisture = temperature_corrected(reading, wood_temp, self.calibrated_at)
            head, rules = (
                f"{head} at {wood_temp:.1f} C ({fahrenheit(wood_temp):.0f} F)",
                ["GTR-190 ch. 13"],
            )
        points = self.by_species.get(species.name)
        if points is not None:
            moisture += points
            rules.append(f"{points:+g} % for {species.name} by the meter's booklet")
        elif self.name:
            rules.append(f"no correction given for {species.name}")
        how = "; ".join(rules)
        if wood_temp is not None or points is not None:
            how = f"corrected to {moisture:.1f} % ({how})"
        wet = f"; {QUALITATIVE}" if reading > QUALITATIVE_ABOVE else ""
        return Corrected(moisture, f"{head}, {how}{wet}")

    def error_of(self, reading: float, otherwise: float) -> float:
        """Return one standard deviation of a reading [%].

        Parameters
        ----------
        reading : float
            Moisture content shown [%].
        otherwise : float
            What holds where the meter's own error is not given [%].
        """
        usual = otherwise if self.error is None else self.error
        return max(usual, self.error_above_30) if reading > QUALITATIVE_ABOVE else usual


def meter_of(spec: MoistureMeterSpec | None, own: dict[str, Species], source: Source) -> Meter:
    """Return a job's meter.

    Parameters
    ----------
    spec : MoistureMeterSpec or None
        The job file's `[meter]`.
    own : dict of str to Species
        The user's own species.
    source : Source
        Where the job came from.

    Raises
    ------
    ShrinkageError
        If a correction is for a species that is not known, or for one twice.
    """
    if spec is None:
        return Meter()
    by_species: dict[str, float] = {}
    for name, points in spec.correction.items():
        with source.at("meter", "correction", name):
            species = find(name, own).name
            if species in by_species:
                raise ShrinkageError(f"{name!r} is {species}, which has one already; accepted: one")
            by_species[species] = points
    return Meter(spec.name, spec.calibrated_at, by_species, spec.error, spec.error_above_30)
