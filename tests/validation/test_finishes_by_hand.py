"""Finishes and joinery by hand, from the Wood Handbook's tables and from plane geometry.

FPL-GTR-190 (Forest Products Laboratory, 2010): Eq. 13-2 with the white fir example of its chapter
13 (from notes without a page number: basis memory), coefficients of Table 13-5 as printed, and
shrinkage of Table 4-3 (each row's basis is in the data). The brace is put where its two pegs are
least strained by scipy's optimiser, with finite movements and rotation, and its shoulders measured
there. The strip below a peg and a tenon's rings are averaged point by point. Trade sizes (1-1/2 in
tenons, pegs 2 in behind a face) are common practice, no published source.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import least_squares

from shrinkage.boards import Boards, boards
from shrinkage.brace import EDGES, Brace, brace
from shrinkage.climate import AirYear
from shrinkage.finding import LEAST_FACTOR, part_of
from shrinkage.finishes import Face, Hiding, trim, wallboard
from shrinkage.joinery import Shoulder, Tenon, shoulder, tenon
from shrinkage.pegged import PeggedBeam, pegged
from shrinkage.section import Heart
from shrinkage.species import find
from shrinkage.timber import Timber

SOURCE = "Finishes and joinery: Wood Handbook Eq. 13-2 and Table 13-5, and plane geometry"
BASIS = "memory"
INCH = 25.4
EXACT = 1e-9
"""[mm] The same sum in another order: rounding only."""
STEADY = AirYear("steady, 9 %", np.full(12, 9.0), "this test")
DRIED = (30 - 9) / 30
HEMLOCK = 0.5 * (0.030 + 0.068) * DRIED
"""Table 4-3: eastern hemlock R 3.0, T 6.8 %; a boxed square moves by their mean."""
PINE_R, PINE_T = 0.021 * DRIED, 0.061 * DRIED
"""Table 4-3: eastern white pine R 2.1, T 6.1 %."""
ALONG = 0.0015 * DRIED
"""GTR-190 ch. 4: 0.1 to 0.2 % along the grain; the middle."""


def timber(species: str, width: float, depth: float, heart: str | Heart = "boxed") -> Timber:
    place = heart if isinstance(heart, Heart) else Heart(heart)
    return Timber(species, find(species), width, depth, place, 60.0, STEADY)


def swinging(low: float, high: float) -> AirYear:
    return AirYear("two levels", np.array([low] * 6 + [high] * 6), "this test")


def laid(species: str, rings: str, width: float, moisture: float, air: AirYear, **more) -> Boards:
    given = {"tongue": 6.0, "run": 3000.0} | more
    return Boards(find(species), rings, width, moisture=moisture, air=air, **given)


def test_white_fir_worked_example(record):
    """Flat-grained white fir, 9.15 in (232 mm) at 8 %, goes to 11 %: grows 0.067 in (1.7 mm)."""
    found = boards("example", laid("white fir", "flat", 9.15 * INCH, 8.0, swinging(8, 11)))
    what = "white fir board 9.15 in wide, 8 to 11 %, as a tongue-and-groove board: growth"
    record(what, 0.067, found.growth.most / INCH, "in", 0.0005)
    record(what, 1.7, found.growth.most, "mm", 0.05)
    assert found.growth.least == found.growth.most, "flat boards have no bracket"
    assert "0.00245 per %" in found.steps[0] and "Eq. 13-2" in found.steps[2]


PRINTED = [  # Table 13-5: species, C_R, C_T
    ("douglas-fir, coast", 0.00165, 0.00267),
    ("fir, white", 0.00112, 0.00245),
    ("hemlock, eastern", 0.00102, 0.00237),
    ("pine, eastern white", 0.00071, 0.00212),
]


@pytest.mark.parametrize(("species", "c_r", "c_t"), PRINTED)
@pytest.mark.parametrize("moisture", [8.0, 10.0, 14.0])
def test_gap_by_equation_13_2(species, c_r, c_t, moisture, record):
    """Gap = width x C x (M - 6), C as Table 13-5 prints it: five decimals, so to half of one."""
    width = 5.25 * INCH
    for rings, printed in (("quarter", c_r), ("flat", c_t)):
        found = boards("b", laid(species, rings, width, moisture, swinging(6, 12))).gap
        digit = width * (moisture - 6) * 0.5e-5
        record("gap of a 5-1/4 in board laid at 8, 10, 14 %, driest 6 %, Table 13-5's C",
               width * printed * (moisture - 6), found.estimate, "mm", digit * 1.01,
               case=f"{species}, {rings}, {moisture:g} %")  # fmt: skip
    both = boards("b", laid(species, "unknown", width, moisture, swinging(6, 12))).gap
    assert_allclose([both.least, both.most], width * np.array([c_r, c_t]) * (moisture - 6),
                    rtol=0, atol=digit * 1.01)  # fmt: skip


@pytest.mark.parametrize(("moisture", "low"), [(19.0, 7.0), (12.0, 5.0)])
def test_gap_by_equation_13_3_beyond(moisture, low):
    """`dD = D1 (M2 - M1) / (100 Mfs/S% - Mfs + M1)` as printed: 19 or 5 % is outside 6 to 14 %."""
    found = boards("b", laid("white fir", "flat", 100.0, moisture, swinging(low, 12)))
    by_hand = 100.0 * (moisture - low) / (100 * 30 / 7.0 - 30 + moisture)
    assert_allclose(found.gap.most, by_hand, atol=EXACT)
    assert "Eq. 13-3" in found.steps[1]


def test_tongue_and_room_by_hand():
    """White fir, T 7.0 %, 100 mm face, 6 mm tongue, laid at 10 % with 0.5 mm gaps, 6 to 13 %."""
    c = 0.07 / 30 / (1 - 0.07 * 20 / 30)
    found = boards("b", laid("white fir", "flat", 100.0, 10.0, swinging(6, 13), gap=0.5, keep=2.0,
                             run=3010.0))  # fmt: skip
    s = 4 * c
    assert_allclose(found.gap.most, 0.5 + 100 * s, atol=EXACT)
    # Tip of the tongue and edge of the groove, each from its own nail line:
    tip, edge = (60 + 6) * (1 - s), 100.5 - 40 * (1 - s)  # nailed 60 mm from the tongue's root
    assert_allclose(found.cover.least, tip - edge, atol=EXACT)
    t = found.tongue.most
    assert_allclose((60 + t) * (1 - s) - edge, 2.0, atol=EXACT)
    assert_allclose(found.growth.most, 300 * c, atol=EXACT)
    assert found.boards.joints == 30  # 3010 / 100.5 = 29.95
    assert_allclose(found.room.most, 30 * (300 * c - 0.5) / 2, atol=EXACT)


def test_wallboard_by_hand():
    """Eastern hemlock 7-1/2 in, held 50 mm from its left face: 50 and 140.5 mm of it move."""
    face = Face(timber("eastern hemlock", 190.5, 190.5), "width", 50.0)
    found = wallboard("w", face, Hiding(keep=6.0, tolerance=3.0, moves=0.4))
    assert_allclose(found.left.most, 50 * HEMLOCK + 0.4, atol=EXACT)
    assert_allclose(found.left.least, 50 * HEMLOCK * LEAST_FACTOR, atol=EXACT)
    assert_allclose(found.right.most, 140.5 * HEMLOCK + 0.4, atol=EXACT)
    assert_allclose(found.lap_right.most, 140.5 * HEMLOCK + 9.4, atol=EXACT)
    assert (LEAST_FACTOR, found.room.most) == (0.6, 0.0)


def test_trim_by_hand():
    """A post metered at 12 % that sees 9 and 14 %: by Eq. 13-3 as printed, both ways.

    Where only 0.6 of the first drying shows, the seasons after it still work in full: it swells
    the other 0.4 further past its size on the day.
    """
    wood = Timber("post", find("eastern hemlock"), 190.5, 190.5, Heart("boxed"), 12.0,
                  swinging(9, 14))  # fmt: skip
    found = trim("t", Face(wood, "depth", 190.5), Hiding(5.0, 2.0))
    per = 190.5 / (100 * 30 / 4.9 - 30 + 12)
    assert_allclose(found.opens.most, 3 * per, atol=EXACT)
    assert_allclose([found.room.least, found.room.most], [2 * per, 3.2 * per], atol=EXACT)
    assert_allclose(found.housing.most, 6.2 * per + 7.0, atol=EXACT)


@pytest.mark.parametrize(("held", "along"), [("posts", 1500.0), ("pegs", -(95.25 - 12.0))])
def test_shoulder_by_hand(held, along):
    """Hemlock post, half of 7-1/2 in; 3 m pine girt housed 12 mm."""
    post = Face(timber("eastern hemlock", 190.5, 190.5), "width", 95.25)
    girt = timber("eastern white pine", 140.0, 190.0)
    found = shoulder("s", Shoulder(post, girt, 3000.0, held, 12.0), Hiding(6.0, 1.0))
    assert_allclose(found.gap.most, (95.25 - 12) * HEMLOCK + along * ALONG, atol=EXACT)
    mouth = 95.25 * HEMLOCK + along * ALONG
    assert_allclose(found.cover.least, 12 - mouth, atol=EXACT)
    assert_allclose(found.housing.most, mouth + 7, atol=EXACT)


def test_tenon_by_hand():
    """1-1/2 in tenon of a flat-sawn pine girt in a quarter-turned pine post: T against R."""
    girt = timber("eastern white pine", 190.0, 140.0, "flat")  # width T, depth R
    post = timber("eastern white pine", 190.0, 180.0, "quarter")  # width R
    found = tenon("t", Tenon(girt, post, 38.0, 120.0, "width", 0.5, 2.0))
    assert_allclose(found.loose.estimate, 0.5 + 38 * PINE_T - 38.5 * PINE_R, atol=EXACT)
    assert_allclose(found.loose.most, 0.5 + 38 * PINE_T - 38.5 * PINE_R * 0.6, atol=EXACT)
    assert_allclose(found.short.most, 2 + 120 * PINE_R - 122 * ALONG, atol=EXACT)
    assert_allclose([found.thinner.most, found.shallower.most], [38 * PINE_T, 120 * PINE_R],
                    atol=EXACT)  # fmt: skip


def ring_mean(x0, x1, y0, y1, pith, points=1200):
    """Mean of sin^2 phi times R and cos^2 phi times T in y, point by point."""
    x = np.linspace(x0, x1, 2 * points + 1)[1::2] - pith[0]
    y = np.linspace(y0, y1, 2 * points + 1)[1::2] - pith[1]
    xx, yy = np.meshgrid(x, y)
    radial = float(np.mean(yy**2 / (xx**2 + yy**2)))
    return radial * PINE_R + (1 - radial) * PINE_T


@pytest.mark.parametrize("pith", [(0.0, 0.0), (20.0, -60.0), (0.0, 160.0)])
@pytest.mark.parametrize("height", [60.0, 127.0, 200.0])
def test_lift_by_points(pith, height):
    """The beam's depth from its seat to the peg, averaged over points of that strip."""
    heart = Heart("pith", *pith)
    beam, post = timber("eastern white pine", 190.0, 254.0, heart), timber("white oak", 200, 200)
    found = pegged("p", PeggedBeam(beam, post, (height,), slack=0.3))
    s = ring_mean(-95, 95, -127, -127 + height, pith)
    assert_allclose(found.lift.most, height * (s - ALONG), atol=1e-4 * height * s)
    assert_allclose(found.off.most, found.lift.most - 0.3, atol=EXACT)


def test_tenon_through_the_heart_by_points():
    girt, post = timber("eastern white pine", 190.0, 240.0), timber("white oak", 200, 200)
    found = tenon("t", Tenon(girt, post, 38.0, 240.0))
    s = ring_mean(-19, 19, -120, 120, (0, 0))
    assert_allclose(found.shallower.most, 240 * s, rtol=1e-4)
    assert 240 * s < 240 * 0.5 * (PINE_R + PINE_T), "nearly radial: less than the whole timber's"


def test_piece_off_the_middle_by_points():
    """A piece 60 x 80 mm, 40 mm to the right of the centre and 30 mm up, pith at (-20, 10)."""
    whole = timber("eastern white pine", 190.0, 254.0, Heart("pith", -20.0, 10.0))
    s = ring_mean(10, 70, -10, 70, (-20, 10))
    assert_allclose(part_of(whole, 60.0, 80.0, 40.0, 30.0).total("depth") * DRIED, s, rtol=1e-4)


def test_peg_height_for_a_tolerable_lift_by_hand():
    """Rings level, depth radial all the way: lift = h (R - L), so h = lift / (R - L)."""
    beam = timber("eastern white pine", 190.0, 254.0, Heart("pith", 0.0, -1e9))
    found = pegged("p", PeggedBeam(beam, beam, (100.0, 140.0), slack=0.4, tolerable=0.8))
    assert_allclose(found.lift.most, 120 * (PINE_R - ALONG), atol=EXACT)
    assert_allclose(found.highest.least, 1.2 / (PINE_R - ALONG), rtol=1e-6)
    assert_allclose(found.drawn.most, 40 * (PINE_R - ALONG), atol=EXACT)


def solved(joint: Brace, lose: np.ndarray) -> dict[str, float]:
    """Let the optimiser place the brace: finite strains, finite rotation, pegs strained least."""
    p, b, d, along_p, along_b, along_d = lose
    axis = np.array([math.cos(joint.angle), math.sin(joint.angle)])
    normal = np.array([-axis[1], axis[0]])
    corner = np.array([-joint.post.share, joint.beam.share])  # where the held lines cross
    foot, head = joint.pegs

    def in_frame(point, of_post):
        r = point - corner
        shrunk = (1 - p, 1 - along_p) if of_post else (1 - along_b, 1 - b)
        return corner + r * shrunk

    def in_brace(point, move):
        x, y, turn = move
        r = point - (foot + head) / 2
        local = np.array([(r @ axis) * (1 - along_d), (r @ normal) * (1 - d)])
        c, s = math.cos(turn), math.sin(turn)
        u = np.array([c * local[0] - s * local[1], s * local[0] + c * local[1]])
        return (foot + head) / 2 + u[0] * axis + u[1] * normal + np.array([x, y])

    def misses(move):
        return np.concatenate([in_brace(foot, move) - in_frame(foot, True),
                               in_brace(head, move) - in_frame(head, False)])  # fmt: skip

    near = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15, "x_scale": (1.0, 1.0, 1e-3)}
    move = least_squares(misses, np.zeros(3), **near).x
    found = {"turn": move[2]}
    for name, place in joint.edges().items():
        now = in_brace(place, move)
        at_foot = name.startswith("foot")
        face = in_frame(np.zeros(2), at_foot)
        found[name] = now[0] - face[0] if at_foot else face[1] - now[1]
    gaps = in_frame(head, False) - in_frame(foot, True)
    found["pull"] = math.hypot(*gaps) - math.hypot(*(head - foot)) * (1 - along_d)
    return found


SECOND_ORDER = 400.0
"""[mm] Times the square of the greatest strain; seen: 314."""
LEVERS = [  # one strain alone, then all together
    *np.eye(6) * 1e-4,
    np.array([3.8, 2.9, 4.7, 0.12, 0.10, 0.15]) * 1e-3,
]


@pytest.mark.parametrize("angle", [30.0, 45.0, 60.0])
@pytest.mark.parametrize("strains", LEVERS)
def test_brace_against_an_optimiser(angle, strains, record):
    """Linear in the strains: within their square of the finite solution."""
    post = Face(timber("eastern hemlock", 190.0, 190.0), "width", 95.0)
    beam = Face(timber("eastern white pine", 190.0, 254.0), "depth", 254.0)
    wood = timber("eastern white pine", 90.0, 140.0, "flat")
    joint = Brace(post, beam, wood, math.radians(angle), 900.0, 50.0, 60.0)
    exact, levers = solved(joint, strains), joint.responses()
    for key in (*EDGES, "pull"):
        ours, near = float(levers[key] @ strains), SECOND_ORDER * float(strains.max()) ** 2
        assert_allclose(ours, exact[key], rtol=0, atol=near, err_msg=key)
        if strains.all():
            record("brace 900 mm along its beam, all its strains: gaps and pull", exact[key], ours,
                   "mm", near, case=f"{angle:g} deg, {key}", basis="derived")  # fmt: skip
    assert_allclose(levers["turn"] @ strains, exact["turn"], rtol=0,
                    atol=float(strains.max()) ** 2)  # fmt: skip


def test_brace_at_45_degrees_by_hand():
    """Equal halves, pegs at the faces: no turn, and the brace is short by 2 x share x s x cos 45.

    Each peg gives half of that: the brace's axis leaves the face by half the face's movement, and
    its own width opens the corner's edge past the other by D sin 45 (s_T - s_L).
    """
    side = Face(timber("eastern hemlock", 190.0, 190.0), "width", 95.0)
    wood = timber("eastern white pine", 90.0, 140.0, "flat")
    joint = Brace(side, Face(side.timber, "depth", 95.0), wood, math.pi / 4, 900.0, 0.0, 0.0)
    found, root = brace("b", joint), math.sqrt(0.5)
    along = ALONG * 2 * 95 * root  # the frame's own shortening past the brace's length
    assert_allclose(found.pull.most, 2 * 95 * HEMLOCK * root - along, atol=1e-9)
    assert_allclose(found.turn.estimate, 0.0, atol=1e-12)
    middle = (found.foot_upper.estimate + found.foot_lower.estimate) / 2
    assert_allclose(middle, 95 * HEMLOCK / 2 - along * root / 2, atol=EXACT)
    opened = found.foot_upper.estimate - found.foot_lower.estimate
    assert_allclose(opened, 140 * root * (PINE_T - ALONG), atol=EXACT)
