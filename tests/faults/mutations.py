"""Job files made wrong in every way that was thought of, each from a seed and its number alone."""

from __future__ import annotations

import copy
import datetime as dt
import json
import math
import random
import re
import string
from collections.abc import Callable, Iterator
from typing import Any

NASTY: tuple[Any, ...] = (
    "", " ", "0", "nan", "inf", "-inf", float("nan"), float("inf"), True, False, 0, -1, 1, 0.5,
    10**30, -(10**18), 1e308, 5e-324, "1e308 mm", "1e9 in", "0 in", "-5 in", "0 %", "100 %",
    "101 %", "-3 %", "0.0000001 %", "1/0 in", "0/0 ft", "5 lb", "5 furlongs", "5 degC", "3 mm mm",
    "12", "12 in 12 in", "9**9**9 mm", "99 m", "100 mm", "0.1 mm", "0.000000001 mm", "1/3 in",
    "9" * 400 + " in", "9" * 400 + " mm", "9" * 400 + " %", "9" * 400 + " C", "9" * 5000 + " in",
    "9" * 400 + " psi", "0." + "0" * 320 + "1 mm", "1 " * 3000 + "in", "1-" * 3000, "1/" * 3000,
    "½ in", "٣ ft", "８ ft", "𝟗 ft", "5 in", "−5 in", "x" * 81, "x" * 20_000, "ﷺ" * 30,
    "\u202egpj.exe", "\ufeff5 in", "e\u0301" * 40, "🪵", "a\nb", "a\tb", "nul\x00byte", "../../x",
    "/dev/zero", "/dev/null", "/etc/passwd", "/", "https://example.invalid/air.csv", "air.csv",
    "air.csv.gz", "C:\\air.csv", "~/x", "${HOME}", "{0.__class__}", "%s%n", "=1+1", "<b>",
    "rest", "even", "full", "green", "boxed", "unknown", "oak", "pine", "white", "Madison", "WI",
    "-459 F", "-300 C", "1000 C", "20 K", "20", "200 deg", "90 deg", "84.9 deg", "0 deg",
    "89.999 deg", "1 in 100000", "100000 in 1", "0 in 0", "0 x 0 in", "1 in x 1 in x 1 in",
    "x in x x in", "1999 mm x 1 mm", [], {}, [[]], [{}], {"": ""}, {"pith": []},
    {"pith": ["1 in"]}, {"pith": ["9 m", "-9 m"]}, {"pith": ["0 in", "0 in"]}, {"pith": [0, 0]},
    ["rest"], ["rest", "rest"], ["0.001 in", "rest"], ["1 in"] * 300, ["laps"], ["laps"] * 3,
    [["5 %", "20 kPa"]], [["0 %", "0 kPa"], ["0 %", "0 kPa"]], [["plate", "plate"]], [[]] * 50,
    dt.date(1, 1, 1), dt.date(9999, 12, 31), dt.date(2027, 2, 28), dt.datetime(2027, 1, 1, 12),
    dt.time(12), "2027-02-30", "0000-00-00", "2027-06-01",
)  # fmt: skip
"""Values that stand where others are due: empty, huge, tiny, of other kinds, odd letters, paths."""

RAW = (
    "title = 0x" + "f" * 20_000, "title = " + "9" * 5000, "a = 1e999999", "title = " + "[" * 5000,
    "title = " + "{a=" * 400 + "1" + "}" * 400, "[a" + ".a" * 3000 + "]", "[[wall]]\n[[wall]]",
    "[wall]", "wall = 3", "timber = 3", "[timber.post]", "air = []", '"" = ""', "= 1", "\x00",
    "\ufeff", "\r", "#\x7f", 'x = """', "title = 0001", "title = 1979-05-27T07:32:00Z",
    "foam = 3", "calendar = 2027-01-01", "[[metered]]", "[spread.shapes]\nspecies = 3",
    "[species.x]", '[species."eastern white pine"]\nradial = "1 %"', "[[covering]]", "[panel.x]",
)  # fmt: skip
"""Lines put in as they are, whatever that makes of the file."""

Tree = dict[str, Any]
Path = tuple[str | int, ...]


def to_toml(tree: Tree) -> str:
    """Write a mapping as TOML, its lists of tables as headers where they can be."""
    lines = [f"{_key(k)} = {_value(v)}" for k, v in tree.items() if not isinstance(v, dict)]
    for key, value in tree.items():
        if isinstance(value, dict):
            lines.append(f"[{_key(key)}]")
            lines += [f"{_key(k)} = {_value(v)}" for k, v in value.items()]
    return "\n".join(lines) + "\n"


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _value(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return value.isoformat() if hasattr(value, "isoformat") else repr(value)


def places(tree: Any, path: Path = ()) -> Iterator[Path]:
    """Yield the path of every key and list item of a mapping, the tables themselves too."""
    inside = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in inside:
        yield (*path, key)
        if isinstance(value, (dict, list)):
            yield from places(value, (*path, key))


def holder(tree: Any, path: Path) -> Any:
    """Return what holds the last key of a path."""
    for key in path[:-1]:
        tree = tree[key]
    return tree


def _put(tree: Tree, path: Path, value: Any) -> None:
    holder(tree, path)[path[-1]] = value


def _drop(tree: Tree, at: Path, rng: random.Random) -> None:
    del holder(tree, at)[at[-1]]


def _rename(tree: Tree, at: Path, rng: random.Random) -> None:
    inside = holder(tree, at)
    if isinstance(inside, dict):
        new = rng.choice([f"{at[-1]}s", str(at[-1])[1:], f" {at[-1]}", f"{at[-1]}.x", "é", ""])
        inside[new] = inside.pop(at[-1])


def _swap(tree: Tree, at: Path, rng: random.Random) -> None:
    other = rng.choice(list(places(tree)))
    if at[: len(other)] != other and other[: len(at)] != at:
        one, two = holder(tree, at), holder(tree, other)
        one[at[-1]], two[other[-1]] = two[other[-1]], one[at[-1]]


def _replace(tree: Tree, at: Path, rng: random.Random) -> None:
    _put(tree, at, copy.deepcopy(rng.choice(NASTY)))


def _scale(tree: Tree, at: Path, rng: random.Random) -> None:
    """Make the numbers of a text or a number huge, tiny, negative, or put other units."""
    value = holder(tree, at)[at[-1]]
    by = rng.choice((0.0, -1.0, 1e-9, 1e-3, 0.1, 0.5, 2.0, 10.0, 1e3, 1e9, 1e300))
    if isinstance(value, str):
        unit = rng.choice(("in", "ft", "mm", "m", "%", "C", "F", "psi", "kPa", "lb", "deg", "",
                           "L", "psf", "kg/m3", "'", '"'))  # fmt: skip
        changed = re.sub(r"\d+(\.\d+)?", lambda m: f"{float(m[0]) * by:f}", value)
        _put(tree, at, rng.choice((changed, re.sub(r"[a-zA-Z%]+$", unit, value))))
    elif isinstance(value, (int, float)) and math.isfinite(value):
        _put(tree, at, rng.choice((value * by, int(min(value * by, 1e300)), str(value))))
    elif isinstance(value, dt.date):
        far = rng.choice((-400, -30, 30, 400, 4000, 40_000, 400_000))
        _put(tree, at, dt.date.fromordinal(max(1, value.toordinal() + far)))


def _letters(tree: Tree, at: Path, rng: random.Random) -> None:
    """Change single letters of a text."""
    value = holder(tree, at)[at[-1]]
    if isinstance(value, str):
        letters = list(value)
        for _ in range(rng.randint(1, 3)):
            here = rng.randrange(len(letters) + 1)
            letters[here : here + rng.randint(0, 1)] = rng.choice(
                [*string.printable, "é", "½", "\u2033", "\u200f", "\u0000", "\U0001f600"]
            )
        _put(tree, at, "".join(letters))


def _nest(tree: Tree, at: Path, rng: random.Random) -> None:
    value = holder(tree, at)[at[-1]]
    for _ in range(rng.choice((1, 1, 2, 60))):
        value = [value] if rng.random() < 0.5 else {str(at[-1]): value}
    _put(tree, at, value)


def _double(tree: Tree, at: Path, rng: random.Random) -> None:
    inside = holder(tree, at)
    if isinstance(inside, list):
        inside += [copy.deepcopy(inside[at[-1]])] * rng.choice((1, 1, 30))
    else:
        _put(tree, at, [copy.deepcopy(inside[at[-1]])] * 2)


TREE: tuple[Callable[[Tree, Path, random.Random], None], ...] = (
    _drop, _rename, _swap, _replace, _replace, _replace, _scale, _scale, _scale, _letters, _nest,
    _double,
)  # fmt: skip


def _cut(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def _bytes(data: bytes, rng: random.Random) -> bytes:
    found = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        found[rng.randrange(len(found))] = rng.randrange(256)
    return bytes(found)


def _lines(data: bytes, rng: random.Random) -> bytes:
    lines = data.splitlines(keepends=True)
    here, there = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(4)
    if way == 0:
        lines[here], lines[there] = lines[there], lines[here]
    elif way == 1:
        lines.insert(there, lines[here])
    elif way == 2:
        del lines[min(here, there) : max(here, there)]
    else:
        lines.insert(here, rng.choice(RAW).encode() + b"\n")
    return b"".join(lines)


def _encoding(data: bytes, rng: random.Random) -> bytes:
    how = rng.choice(("utf-16", "utf-8-sig", "utf-32", "latin-1", "cp1252"))
    return ("# Größe\n" + data.decode()).encode(how, "replace")


def mutate(tree: Tree, seed: str) -> bytes:
    """Return a job file made wrong, or at least odd; the same for the same seed."""
    rng = random.Random(seed)
    if rng.random() < 0.8:
        tree = copy.deepcopy(tree)
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            # First a table, then a place in it: no table is missed because another is long.
            table = rng.choice(list(tree)) if tree else None
            at = [path for path in places(tree) if path[0] == table]
            if at:
                rng.choice(TREE)(tree, rng.choice(at), rng)
        return to_toml(tree).encode("utf-8", "surrogatepass")
    data = to_toml(tree).encode()
    return rng.choice((_cut, _bytes, _bytes, _lines, _lines, _encoding))(data, rng)
