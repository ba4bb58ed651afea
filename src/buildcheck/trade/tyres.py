"""Tyres on rims: sizes after ISO 5775, the width on another rim, pressure, and the room that a tyre needs.

A tyre marked 32-622 has a section width of 32 mm and sits on a bead seat of 622 mm. ISO 5775 was read in
two editions of the Wikipedia page of that name, not in the standard itself.
"""

import math

Span = tuple[float, float]
"""Least and most of one quantity."""

CFR_TYRE_CLEARANCE_MM = 1.6
"""Least gap between the tyre and fork or any frame member. Source: 16 CFR 1512.11(b), 1/16 in."""

CFR_TOE_CLEARANCE_MM = 89.0
"""Least distance from the pedal's centre to the front tyre without toe clips. Source: 16 CFR 1512.17(d), 3.5 in."""

ISO_TOE_CLEARANCE_MM = 100.0
"""The same by ISO 4210-2 cl. 4.13.2.2, quoted; 89 for young adults and, for all, where the feet are held."""

ISO_LEFT_OUT = frozenset({"delivery", "tandem", "bmx"})
"""Kinds of bicycle for which ISO 4210-2 asks for nothing. Source: ISO 4210-2:2015 cl. 1 (its abstract is public). What
stands in its place is EN 17860 or DIN 79010 for carriers; for tandems and BMX none was found."""

MUDGUARD_OVER_TREAD_MM = (8.0, 30.0)
"""How far the outside of a mudguard stands over the tread: least and most. Our choice."""

STRAIGHT_SIDE_LIMIT_BAR = 5.0
"""Highest pressure on a tubeless straight-side rim. Source: ISO 5775-2 (ETRTO), quoted as 72 psi by CyclingTips."""

GROWTH_PER_MM = (0.2, 0.6)
"""How much wider a tyre becomes for each mm of rim above its design rim, in mm: least and most. About 0.4 is
from memory; a 23 mm tyre that measures 26 mm on a 22 mm rim (VeloNews) lies between."""

HEIGHT_DOUBT_MM = 4.0
"""How far the true height of a tyre may lie from its marked size, in mm, either way. Our choice: of 47 tyres whose
circumference is told (table in an open source radio library, rolled out under load) one stands higher, and that by a
slip of the table; with 2 mm it were 26."""

_LOW_TYRE_MM = 28.0
_LOW_TYRE_EXTRA_MM = 2.5
_DESIGN_RIM_SHARE = (0.45, 0.85)


def section_height_mm(width_mm: float) -> float:
    """Height in mm of a tyre above its bead seat: its section width, and 2.5 mm more below 28 mm.

    So that a narrower tyre is never the higher one, what is added stops at 28 mm: our choice. An infinite width is as
    high. Errors: ValueError for a negative width. Source: Wikipedia, ISO 5775 (older edition of the page).
    """
    width = _size(width_mm, "section width")
    return max(width, min(width + _LOW_TYRE_EXTRA_MM, _LOW_TYRE_MM))


def overall_diameter_mm(bead_seat_mm: float, width_mm: float) -> float:
    """Diameter in mm over the tread: bead seat and twice the section height.

    Errors: ValueError for a negative size. Source: Wikipedia, ISO 5775 (older edition of the page).
    """
    return _size(bead_seat_mm, "bead seat") + 2 * section_height_mm(width_mm)


def tyre_radius_mm(bead_seat_mm: Span, width_mm: Span) -> Span:
    """Least and most distance in mm from the axle to the tread, for a tyre within these sizes.

    It allows for HEIGHT_DOUBT_MM either way. Errors: ValueError for a negative size, or one that runs
    backwards. Source: overall_diameters_mm; the doubt is our choice.
    """
    least, most = overall_diameters_mm(bead_seat_mm, width_mm)
    return max(0.0, least / 2 - HEIGHT_DOUBT_MM), most / 2 + HEIGHT_DOUBT_MM


def overall_diameters_mm(bead_seat_mm: Span, width_mm: Span) -> Span:
    """Least and most diameter in mm over the tread, for a tyre marked within these sizes.

    Errors: ValueError for a negative size, or one that runs backwards. Source: overall_diameter_mm.
    """
    seat, width = _span(bead_seat_mm, "bead seat"), _span(width_mm, "section width")
    return overall_diameter_mm(seat[0], width[0]), overall_diameter_mm(seat[1], width[1])


def inflated_width_mm(width_mm: Span, rim_inner_mm: Span, design_rim_mm: Span) -> Span:
    """Least and most width in mm of a tyre on a rim that may be wider or narrower than its design rim.

    All three are spans from least to most; the highest may be infinite. A design rim outside 45 to 85 % of
    the section width is taken for that limit: makers differ from the 55 and 65 % of ISO 5775, but not more.
    Errors: ValueError for a negative size, or one that runs backwards.
    Source: growth of about 0.4 mm for each mm of rim, from memory, as GROWTH_PER_MM; so is the share.
    """
    (low, high), rim = _span(width_mm, "section width"), _span(rim_inner_mm, "inner rim width")
    design = _span(design_rim_mm, "design rim")
    least, most = _DESIGN_RIM_SHARE
    narrow = min(max(design[0], least * low), most * low)
    wide = min(max(design[1], least * high), most * high)
    thinner = min(growth * (rim[0] - wide) for growth in GROWTH_PER_MM)
    thicker = max(growth * (rim[1] - narrow) for growth in GROWTH_PER_MM)
    return max(0.0, low + thinner) if math.isfinite(thinner) else 0.0, high + thicker


def usual_tyre_range_mm(rim_inner_mm: float) -> tuple[float, float]:
    """Narrowest and widest tyre in mm that usually go with an inner rim width: 1.25 and 2.5 times as wide.

    Errors: ValueError for a negative width. Source: VeloNews technical FAQ, a rule of thumb.
    """
    rim = _size(rim_inner_mm, "inner rim width")
    return 1.25 * rim, 2.5 * rim


def straight_side_least_tyre_mm(rim_inner_mm: float) -> float:
    """Narrowest tyre in mm on a tubeless straight-side rim of this inner width in mm: 28, above 23 the rim and 5 mm.

    Errors: ValueError for a negative width. Source: ETRTO 2023 as the press reported it on 2023-06-15 (25 takes 30,
    27 takes 32, 30 takes 35, 35 takes 40).
    """
    return max(28.0, _size(rim_inner_mm, "inner rim width") + 5.0)


def pressure_limit_bar(tyre_max_bar: float, rim_max_bar: float, straight_side: bool) -> float:
    """Highest pressure in bar: the lower of the tyre's and the rim's limit, and 5 bar on straight sides.

    A limit may be infinite. Errors: ValueError for a negative limit.
    Source: ISO 4210-1 cl. 2.27 (read in TBIS 4210-1); STRAIGHT_SIDE_LIMIT_BAR.
    """
    limits = (_size(tyre_max_bar, "pressure limit of the tyre"), _size(rim_max_bar, "pressure limit of the rim"))
    return min(*limits, STRAIGHT_SIDE_LIMIT_BAR if straight_side else math.inf)


def least_pressure_bar(width_mm: float, use: str) -> float:
    """Lowest pressure in bar that ISO 5775 recommends: 3 up to 25 mm, 2 above, 1.5 off the road.

    `use` is the kind of bicycle in ISO 4210; mountain stands for off the road. Errors: ValueError for a
    negative width. Source: Wikipedia, ISO 5775 (older edition of the page).
    """
    narrow = _size(width_mm, "section width") <= 25.0
    if use == "mountain":
        return 1.5
    return 3.0 if narrow else 2.0


def iso_tyre_clearance_mm(use: str) -> float:
    """Least gap in mm between the tyre and frame or fork by ISO 4210-2 cl. 4.10.2, for a kind of bicycle.

    Kinds that it leaves out (ISO_LEFT_OUT) are held to the 6 mm of most others: our choice.
    Source: 4 mm for racing bicycles (EN 14781 cl. 4.10.2, quoted by a forum); 6 mm for the others is from memory.
    """
    return 4.0 if use == "racing" else 6.0


def toe_clearance_mm(front_centre_mm: Span, arm_length_mm: Span, tyre_radius_mm: Span) -> Span:
    """Least and most distance in mm from the pedal's centre, crank forwards, to the tread; negative: an overlap.

    Errors: ValueError for a negative size, or one that runs backwards. Source: geometry.
    """
    front, arm = _span(front_centre_mm, "front centre"), _span(arm_length_mm, "crank length")
    tread = _span(tyre_radius_mm, "tyre radius")
    return front[0] - arm[1] - tread[1], front[1] - arm[0] - tread[0]


def toe_clearance_asked_mm(use: str, feet_held: bool) -> float:
    """Least distance in mm from the pedal's centre to front tyre or mudguard that ISO 4210-2 asks for.

    Kinds that it leaves out (ISO_LEFT_OUT) are held to the same: our choice.
    Source: ISO 4210-2 cl. 4.13.2.2, quoted: 100 mm, and 89 mm for young adults or with the feet held on the pedals.
    """
    return CFR_TOE_CLEARANCE_MM if feet_held or use == "young-adult" else ISO_TOE_CLEARANCE_MM


def front_centre_shift_mm(offset_change_mm: float, head_angle_deg: float) -> tuple[float, float]:
    """Least and most growth in mm of the front centre when another fork has this much more offset.

    The axle moves square to the steering axis, so forwards by the sine of the head angle, and up. How much
    of that lies along the front centre depends on the height of the bottom bracket: at most all of it.
    Errors: ValueError for a head angle outside 45 to 90 degrees or an offset that is not finite. Source: geometry.
    """
    if not 45 <= head_angle_deg <= 90:
        raise ValueError(f"head angle {head_angle_deg} degrees must lie between 45 and 90")
    if not math.isfinite(offset_change_mm):
        raise ValueError(f"an offset change of {offset_change_mm} mm is not a finite number")
    part = offset_change_mm * math.sin(math.radians(head_angle_deg))
    return min(part, offset_change_mm), max(part, offset_change_mm)


def _size(value: float, name: str) -> float:
    if not value >= 0:
        raise ValueError(f"{name} {value} must be a number, 0 or more")
    return value


def _span(span: Span, name: str) -> Span:
    if not 0 <= span[0] <= span[1]:
        raise ValueError(f"{name} {span[0]} to {span[1]} must be 0 or more and run from least to most")
    return span
