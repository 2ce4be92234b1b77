"""The method as a reviewer wants to read it: equations, symbols, sources, in the report's words."""

from __future__ import annotations

from shrinkage.blocks import Block, Bullets, Heading, Text
from shrinkage.spread import Spread

EQUATIONS: tuple[tuple[str, tuple[str, ...], str], ...] = (
    ("Moisture to strain", ("s(M) = S max(0, (fs - M) / fs)",
                            "from M1 to M2: 1 - (1 - s(M2)) / (1 - s(M1))"),
     "Linear below fibre saturation fs; the second line is Eq. 13-3 for any two moistures (Wood "
     "Handbook, FPL-GTR-190, ch. 4 and 13). S is the shrinkage from green to oven-dry, R radial, "
     "T tangential, L along the grain."),
    ("Rings to a face", ("S_width = w S_R + (1 - w) S_T,   S_depth = (1 - w) S_R + w S_T",
                         "w = mean over the section of cos²φ, φ seen from the pith"),
     "Mean strain equals mean free strain where stiffness is uniform and nothing loads the "
     "section. A boxed heart that has checked moves less: the value used is the safe one for a gap "
     "that closes."),
    ("A heavy timber", ("first drying x section factor; the seasons after it at the full rate",),
     "The tables come from small, slowly dried pieces. The section factor is 1 unless the job says "
     "less, and spreads down from there."),
    ("A joint", ("closure = sum far t s (n.e) - sum panel's own stack t s (n.e)",),
     "t thickness, e direction away from the datum, n the unit normal from the panel's edge to "
     "what it could touch. Positive closes."),
    ("The gap", ("gap = max(fill, c / e, c + clear, what the seasons work) + tolerance",),
     "c is the worst closing, e what the foam takes once. The form is that of the joint-width rule "
     "of ASTM C1472 (from memory of the guide), which says of itself that it is not for joints "
     "sealed with aerosol foam: it lends the form, and governs only where backer and sealant "
     "replace the foam."),
)  # fmt: skip

CALENDAR = (
    "The job has dates: timbers dry through yard, site and room by diffusion across the section "
    "(Siau's model, from memory). The solver is run for half, once and twice the usual diffusion "
    "coefficient; a draw is interpolated between them in log D and does not leave them. An air or "
    "a reading that is off shifts the dried share by as much as the timber has followed it so far."
)


def method(spread: Spread, has_dates: bool) -> list[Block]:
    """Return the chapter on method.

    Parameters
    ----------
    spread : Spread
        What was asked.
    has_dates : bool
        Whether the job has a calendar.
    """
    blocks: list[Block] = [Heading(1, "3. Method")]
    for name, lines, words in EQUATIONS:
        blocks.append(Heading(3, name))
        blocks += [Text(line, "equation") for line in lines]
        blocks.append(Text(words))
    blocks.append(Heading(3, "How sure"))
    blocks.append(Text(
        f"Every input of the table above is drawn {spread.draws} times (scrambled Sobol points, "
        f"seed {spread.seed}: the same seed gives the same report) and the whole chain is worked "
        "for each draw. R and T of one piece are correlated through a Gaussian copula; pieces of "
        "one species, and roles cut from one log, share what they share; a plate that stands in "
        "two layers is one piece. Draws that make impossible wood are cut back, and counted."
    ))  # fmt: skip
    if has_dates:
        blocks.append(Text(CALENDAR))
    blocks.append(Text("Three answers stand side by side:"))
    blocks.append(Bullets((
        "worst case: every input at its bad end at once, tolerances summed;",
        "root-sum-square: each input's own effect, and the tolerances, added in quadrature;",
        f"sampled: the gap with which every limit is met in {spread.certainty:g} % of draws.",
    )))  # fmt: skip
    blocks.append(Text(
        "What the doubt is made of: Sobol indices (first order: the share of variance that goes "
        "when a group alone is known; total: with its part in others). 'Knowing it saves' is by "
        "how much the sampled gap comes down on average if the group were known."
    ))  # fmt: skip
    return blocks
