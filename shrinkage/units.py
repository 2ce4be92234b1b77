"""Lengths and other quantities at the edge of the package: text in, plain floats out.

Inside the package lengths are floats in millimetres, temperatures in degrees Celsius, angles in
radians. This is the only module that knows inches. Tape-measure text is read by the grammar below,
anything else by pint, whose registry is made on first need: it costs more than a short run.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from shrinkage.errors import ShrinkageError

MM_PER_INCH = 25.4
INCHES_PER_FOOT = 12
LONGEST_TEXT = 80
"""No quantity is written in more letters than this."""

Rounding = Literal["up", "down", "nearest"]
System = Literal["imperial", "metric"]
TAPE_STEP: dict[System, float] = {"imperial": MM_PER_INCH / 16, "metric": 1.0}
"""What a tape is read to on site [mm]."""

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_MARKS = {
    "′": "'", "’": "'", "‘": "'", "ʹ": "'", "″": '"', "”": '"', "“": '"', "ʺ": '"',
    "''": '"', "⁄": "/", "–": "-", "−": "-", "‑": "-", "\u00a0": " ",
}  # fmt: skip

_NUMBER = r"(?:\d+\s*/\s*\d+|\d+(?:\.\d+)?[\s-]+\d+\s*/\s*\d+|\d+(?:\.\d*)?|\.\d+)"
_FEET_INCHES = re.compile(
    rf"""^\s*(?P<sign>[+-])?\s*
    (?:(?P<ft>{_NUMBER})\s*(?:'|feet\b|foot\b|ft\b\.?)\s*-?\s*)?
    (?:(?P<inch>{_NUMBER})\s*(?:"|inches\b|inch\b|in\b\.?))?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)
_MIXED_PRIMES = re.compile(rf"^\s*(?P<ft>{_NUMBER})\s*'\s*-?\s*(?P<inch>{_NUMBER})\s*$")
_METRIC = re.compile(r"^\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(mm|cm|m)\s*$")
_MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
_PITCH = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(?:in|/|:)\s*(\d+(?:\.\d+)?)\s*$", re.IGNORECASE)
_LENGTH_HELP = "a length with its unit, such as 7' 11-5/8\", 5 1/2 in or 138 mm"


@cache
def registry() -> Any:
    """Return the package's pint registry, made on first use and cached on disk.

    Returns
    -------
    pint.UnitRegistry
        The application registry every quantity handed in or out belongs to.
    """
    import pint

    return pint.UnitRegistry(cache_folder=":auto:")


def length(value: Any, what: str = "length") -> float:
    """Read a length given as text or as a pint quantity.

    Parameters
    ----------
    value : str or pint.Quantity
        Tape-measure text (``7' 11-5/8"``, ``7 ft 11 5/8 in``, ``95.625 in``, ``5½"``), metric text
        (``138 mm``), any other text pint can read, or a quantity.
    what : str
        Name of the thing measured, for the error message.

    Returns
    -------
    float
        The length [mm].

    Raises
    ------
    ShrinkageError
        If the value is a bare number, not a length, or not finite.
    """
    if _is_text(value, what, _LENGTH_HELP):
        return _length_text(value, what)
    return _convert(value, "millimeter", what, _LENGTH_HELP)


def _is_text(value: Any, what: str, accepted: str) -> bool:
    """Return whether a value is text; refuse one so long that a pattern would search for ever."""
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        start = f"{what}: {value[:20]!r}... has {len(value)} letters"
        raise ShrinkageError(f"{start}; accepted: {accepted}")
    return isinstance(value, str)


def _length_text(text: str, what: str) -> float:
    clean = plain_marks(text)
    if match := _METRIC.match(clean):
        return float(match[1]) * _MM_PER[match[2]]
    match = _FEET_INCHES.match(clean) or _MIXED_PRIMES.match(clean)
    parts = match.groupdict() if match else {}
    if parts.get("ft") or parts.get("inch"):
        try:
            feet, inches = (_number(parts.get(key) or "0") for key in ("ft", "inch"))
        except ZeroDivisionError:
            message = f"{what}: {text!r} divides by zero; accepted: {_LENGTH_HELP}"
            raise ShrinkageError(message) from None
        total = float((feet * INCHES_PER_FOOT + inches) * Fraction("25.4"))
        return -total if parts.get("sign") == "-" else total
    return _with_pint(text, "millimeter", what, _LENGTH_HELP)


def plain_marks(text: str) -> str:
    """Return text with typographic primes, dashes and fractions in their typewriter form."""
    for mark, plain in _MARKS.items():
        text = text.replace(mark, plain)
    for mark, plain in _VULGAR.items():
        text = text.replace(mark, f" {plain}")
    return text.strip()


def _number(text: str) -> Fraction:
    """Read ``11``, ``11.625``, ``5/8``, ``11 5/8`` or ``11-5/8`` exactly."""
    text = re.sub(r"\s*/\s*", "/", text.strip())
    return sum((Fraction(part.rstrip(".")) for part in re.split(r"[\s-]+", text)), Fraction(0))


def _with_pint(text: str, unit: str, what: str, accepted: str) -> float:
    if re.fullmatch(r"\s*[+-]?[\d./\s-]*\s*", text):
        raise ShrinkageError(f"{what}: {text!r} has no unit; accepted: {accepted}")
    # One number and one unit: pint would read "5 in 12" as a product and "9**9**9 mm" for ever.
    if not re.fullmatch(r"[+-]?(\d+(\.\d*)?|\.\d+)\s*[^\W\d_]+", plain_marks(text)):
        raise ShrinkageError(f"{what}: cannot read {text!r}; accepted: {accepted}")
    try:
        quantity = registry().Quantity(plain_marks(text))
    except Exception:  # pint raises many kinds for text that is no quantity
        raise ShrinkageError(f"{what}: cannot read {text!r}; accepted: {accepted}") from None
    return _convert(quantity, unit, what, accepted)


def _convert(quantity: Any, unit: str, what: str, accepted: str) -> float:
    if not hasattr(quantity, "magnitude"):
        raise ShrinkageError(f"{what}: {quantity!r} has no unit; accepted: {accepted}")
    try:
        result = float(quantity.to(unit).magnitude)
    except Exception:  # dimension or offset-unit errors, or an array where one value is due
        raise ShrinkageError(f"{what}: {quantity!s} cannot be used; accepted: {accepted}") from None
    if not math.isfinite(result):
        raise ShrinkageError(f"{what}: {quantity!s} is not finite; accepted: {accepted}")
    return result


def temperature(value: Any, what: str = "temperature") -> float:
    """Read a temperature such as ``"20 C"``, ``"68 F"`` or a pint quantity.

    Returns
    -------
    float
        The temperature [deg C].

    Raises
    ------
    ShrinkageError
        If the value has no unit, is no temperature or is not finite.
    """
    accepted = "a temperature with its unit, such as 20 C or 68 F"
    if _is_text(value, what, accepted):
        pattern = r"\s*([+-]?\d+(?:\.\d+)?)\s*(?:deg\s*|°\s*)?([CFcf])\s*"
        if match := re.fullmatch(pattern, plain_marks(value)):
            degrees = float(match[1])
            return degrees if match[2] in "Cc" else (degrees - 32.0) / 1.8
        raise ShrinkageError(f"{what}: cannot read {value!r}; accepted: {accepted}")
    return _convert(value, "degC", what, accepted)


def fahrenheit(temp_c: float) -> float:
    """Return a temperature for those who read it in degrees Fahrenheit.

    Parameters
    ----------
    temp_c : float
        In degrees Celsius.
    """
    return 1.8 * temp_c + 32


def percent(value: Any, what: str = "percentage") -> float:
    """Read a percentage such as ``"12 %"`` or ``"12%"``.

    Returns
    -------
    float
        The number of percent.

    Raises
    ------
    ShrinkageError
        If the value is not text ending in a percent sign, or not finite.
    """
    accepted = "a percentage with its sign, such as 12 %"
    if _is_text(value, what, accepted):
        if match := re.fullmatch(r"\s*([+-]?\d+(?:\.\d+)?)\s*%\s*", value):
            return float(match[1])
        raise ShrinkageError(f"{what}: cannot read {value!r}; accepted: {accepted}")
    raise ShrinkageError(f"{what}: {value!r} has no unit; accepted: {accepted}")


def roof_pitch(value: Any, what: str = "pitch") -> float:
    """Read a roof pitch: rise in run (``"10 in 12"``, ``"10/12"``) or an angle (``"40 deg"``).

    Returns
    -------
    float
        The angle from the horizontal [rad], at least 0 and less than a right angle.

    Raises
    ------
    ShrinkageError
        If it cannot be read, or is not at least level and less than plumb.
    """
    accepted = "a rise in a run such as 10 in 12, or an angle such as 40 deg, 0 to under 85 deg"
    is_text = _is_text(value, what, accepted)
    if is_text and (match := _PITCH.match(value)):
        rise, run = float(match[1]), float(match[2])
        angle = math.atan2(rise, run) if run else math.pi / 2
    elif is_text:
        angle = _with_pint(value.replace("°", " degree"), "radian", what, accepted)
    else:
        angle = _convert(value, "radian", what, accepted)
    if not 0.0 <= angle < math.radians(85.0):
        raise ShrinkageError(f"{what}: {value!r} is too steep or below level; accepted: {accepted}")
    return angle


def round_to(mm: float, fraction_mm: float, rounding: Rounding = "nearest") -> float:
    """Round a length to a multiple of a fraction.

    A length within a millionth of the fraction of a multiple counts as that multiple, so that
    rounding up what was already rounded changes nothing.

    Parameters
    ----------
    mm, fraction_mm : float
        The length and the step [mm].
    rounding : {'up', 'down', 'nearest'}
        Which multiple to take.

    Returns
    -------
    float
        The rounded length [mm].

    Raises
    ------
    ShrinkageError
        If the fraction is not positive, the length not finite or the rounding has no such name.
    """
    if not 0 < fraction_mm < math.inf:
        raise ShrinkageError(f"fraction: {fraction_mm!r} mm; accepted: a length above zero")
    if not math.isfinite(mm):
        raise ShrinkageError(f"length to round: {mm!r} mm; accepted: a finite length")
    steps = mm / fraction_mm
    if rounding == "nearest":
        whole = math.floor(steps + 0.5)
    elif rounding in ("up", "down"):
        whole = math.ceil(steps - 1e-6) if rounding == "up" else math.floor(steps + 1e-6)
    else:
        raise ShrinkageError(f"rounding: {rounding!r}; accepted: up, down or nearest")
    return whole * fraction_mm


def tape(mm: float, denominator: int = 16, feet: bool = True) -> str:
    """Write a length as it is read off an inch tape, to the nearest fraction.

    Parameters
    ----------
    mm : float
        Length [mm].
    denominator : int
        Smallest fraction shown: 8 for eighths, 16 for sixteenths.
    feet : bool
        Whether lengths of a foot and more are written in feet and inches.

    Returns
    -------
    str
        Such as ``7' 11-5/8"``.
    """
    ticks = math.floor(abs(mm) / MM_PER_INCH * denominator + 0.5)
    sign = "-" if mm < 0 and ticks else ""
    inches, part = divmod(ticks, denominator)
    text = f"{Fraction(part, denominator)}" if part else ""
    whole_feet, inches = divmod(inches, INCHES_PER_FOOT) if feet else (0, inches)
    if part and (inches or whole_feet):
        text = f"{inches}-{text}"
    elif not part:
        text = f"{inches}"
    return f"{sign}{whole_feet}' {text}\"" if whole_feet else f'{sign}{text}"'


def show(mm: float, system: System = "imperial", denominator: int = 16) -> str:
    """Write a length for people in the system they work in.

    Parameters
    ----------
    mm : float
        Length [mm].
    system : {'imperial', 'metric'}
        Feet, inches and fractions, or millimetres to the tenth.
    denominator : int
        Smallest inch fraction shown.

    Returns
    -------
    str
        The length with its unit.
    """
    if system == "imperial":
        return tape(mm, denominator)
    text = f"{round(mm, 1) + 0.0:.1f}"  # never -0.0
    return f"{text if abs(mm) < 100 else text.removesuffix('.0')} mm"


_TRADE = {  # what the trade writes, and how pint reads it
    "psf": "lbf/ft**2", "lb/ft2": "lbf/ft**2", "lbf/ft2": "lbf/ft**2", "lb/sq ft": "lbf/ft**2",
    "psi": "psi", "lb/in2": "psi", "kpa": "kPa", "mpa": "MPa", "pa": "Pa", "kn/m2": "kN/m**2",
    "pcf": "lb/ft**3", "lb/ft3": "lb/ft**3", "kg/m3": "kg/m**3",
    "lb": "lbf", "lbs": "lbf", "lbf": "lbf", "kn": "kN", "n": "N",
    "plf": "lbf/ft", "lb/ft": "lbf/ft", "lbf/ft": "lbf/ft", "n/m": "N/m", "kn/m": "kN/m",
    "l": "liter", "litre": "liter", "litres": "liter", "liter": "liter", "liters": "liter",
    "ft3": "ft**3", "cu ft": "ft**3", "gal": "gallon",
}  # fmt: skip
_LOADS: dict[str, tuple[str, str]] = {  # unit inside the package, and what is accepted
    "pressure": ("kPa", "a stress or area load with its unit, such as 25 psi, 12 psf or 40 kPa"),
    "density": ("kg/m**3", "a density with its unit, such as 2 lb/ft3 or 32 kg/m3"),
    "force": ("N", "a force with its unit, such as 250 lbf or 1.1 kN"),
    "line load": ("N/m", "a load along a line with its unit, such as 60 lb/ft or 900 N/m"),
    "volume": ("liter", "a volume with its unit, such as 40 L or 1.4 ft3"),
}


def load(value: Any, kind: str, what: str = "") -> float:
    """Read a stress, density, force, line load or volume given as text or as a pint quantity.

    Parameters
    ----------
    value : str or pint.Quantity
        Such as ``"25 psi"``, ``"2 lb/ft3"``, ``"250 lbf"``, ``"60 lb/ft"``, ``"40 L"``.
    kind : {'pressure', 'density', 'force', 'line load', 'volume'}
        Which of them is due.
    what : str
        Name of the thing measured, for the error message.

    Returns
    -------
    float
        In kPa, kg/m3, N, N/m or litres, by its kind.

    Raises
    ------
    ShrinkageError
        If the value is a bare number, of another kind, or not finite.
    """
    (unit, accepted), what = _LOADS[kind], what or kind
    if _is_text(value, what, accepted):
        match = re.fullmatch(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*([^\d\s+-].*?)\s*", value)
        unit_text = match[2].lower().translate(str.maketrans("²³", "23", "^")) if match else ""
        name = re.sub(r"\s+", " ", unit_text)
        if not match or name not in _TRADE:
            reason = "has no unit" if re.fullmatch(r"[\s\d.+-]+", value) else "cannot be read"
            raise ShrinkageError(f"{what}: {value!r} {reason}; accepted: {accepted}")
        value = registry().Quantity(float(match[1]), _TRADE[name])
    return _convert(value, unit, what, accepted)


_SHOWN = {
    "pressure": ((0.1450377377, "psi", 1), (1.0, "kPa", 0)),
    "area load": ((20.88543423, "lb/ft2", 0), (1.0, "kPa", 2)),
    "force": ((0.2248089431, "lb", 0), (1.0, "N", 0)),
    "line load": ((0.06852176586, "lb/ft", 0), (1.0, "N/m", 0)),
    "density": ((0.06242796058, "lb/ft3", 1), (1.0, "kg/m3", 0)),
}  # fmt: skip


def show_load(value: float, kind: str, system: System = "imperial") -> str:
    """Write a load for people, in the system they work in and then in the other.

    Parameters
    ----------
    value : float
        In kPa, N, N/m or kg/m3, by its kind.
    kind : {'pressure', 'area load', 'force', 'line load', 'density'}
        What it is.
    system : {'imperial', 'metric'}
        Which comes first.

    Returns
    -------
    str
        Such as ``60 lb/ft (876 N/m)``.
    """
    both = [f"{value * per:,.{digits}f} {unit}" for per, unit, digits in _SHOWN[kind]]
    first, second = both if system == "imperial" else reversed(both)
    return f"{first} ({second})"
