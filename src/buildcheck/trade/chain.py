"""Bicycle chains: pitch circles, the length round ring and sprocket, what a derailleur must take up.

A link here is one pitch of 12.7 mm, inner and outer links counted alike, as the trade counts them. The chain is
taken as a belt that lies on the pitch circles and is straight between them.
"""

import math

PITCH_MM = 12.7
"""Distance from pin to pin. Source: BikeGremlin, bicycle drive chain standard dimensions (1/2 in); the standard is
ISO 9633, by its title."""

BIG_BIG_RESERVE_LINKS = 2
"""What a chain must have beyond the tight wrap over the biggest ring and sprocket, so that the derailleur is not torn:
1 in. Source: Bike Forums 2021, chain length."""

_FEWEST_TEETH = 3
_INCH_MM = 25.4


def pitch_diameter_mm(teeth: float) -> float:
    """Diameter in mm of the circle through the pins of a chain on a wheel with this many teeth.

    Errors: ValueError for fewer than 3 teeth. Source: mechanical design handbook, d = p / sin(180 deg / N).
    """
    return PITCH_MM / math.sin(math.pi / _wheel(teeth))


def chain_links(centre_mm: float, one_teeth: float, other_teeth: float) -> float:
    """Links of a chain laid tight round two wheels, from the exact geometry of an open belt; not rounded.

    centre_mm is the distance of the axles. Where it is so short that the small circle lies inside the large one, the
    chain lies round the large one alone. Grows with each of the three. Errors: ValueError for fewer than 3 teeth or a
    negative distance.
    Source: Machinery's Handbook (from memory): L = 2C cos a + N (180 + 2a) / 360 + n (180 - 2a) / 360 with
    sin a = (R - r) / C; it is plane geometry and is checked against a general library in the tests.
    """
    large, small = max(one_teeth, other_teeth), min(one_teeth, other_teeth)
    centre = _distance(centre_mm) / PITCH_MM
    step = (pitch_diameter_mm(large) - pitch_diameter_mm(small)) / 2 / PITCH_MM
    if step >= centre:
        return large
    turn = math.asin(step / centre) / math.pi
    return 2 * math.sqrt(centre**2 - step**2) + large * (0.5 + turn) + small * (0.5 - turn)


def handbook_links(centre_mm: float, one_teeth: float, other_teeth: float) -> float:
    """Links of the chain by the approximation of the handbooks; within 0.01 of `chain_links` on bicycles.

    Errors: ValueError for fewer than 3 teeth or a distance that is not above 0.
    Source: ISO 606 set, as read in a roller-chain article: L = 2X + (z1 + z2)/2 + (z2 - z1)^2 / (4 pi^2 X), X = C/p.
    """
    centre = _above_zero(centre_mm) / PITCH_MM
    one, other = _wheel(one_teeth), _wheel(other_teeth)
    return 2 * centre + (one + other) / 2 + ((one - other) / (2 * math.pi)) ** 2 / centre


def centre_for_links_mm(links: float, one_teeth: float, other_teeth: float) -> float:
    """Distance in mm of the axles at which a chain of this many links is tight: `handbook_links` turned round.

    Errors: ValueError for fewer than 3 teeth, or for a chain too short to go round both wheels.
    Source: textbooks on machine design (from memory): C = (A + sqrt(A^2 - 8 ((N - n) / 2 pi)^2)) / 4 pitches,
    A = L - (N + n) / 2.
    """
    straight = links - (_wheel(one_teeth) + _wheel(other_teeth)) / 2
    root = straight**2 - 8 * ((one_teeth - other_teeth) / (2 * math.pi)) ** 2
    if straight <= 0 or root < 0:
        raise ValueError(f"{links:g} links do not go round wheels of {one_teeth:g} and {other_teeth:g} teeth")
    return (straight + math.sqrt(root)) / 4 * PITCH_MM


def big_big_links(stay_mm: float, ring_teeth: float, sprocket_teeth: float, growth_mm: float = 0.0) -> float:
    """Least links with a rear derailleur: tight round the biggest ring and sprocket and one inch more; not rounded.

    growth_mm is how much the rear suspension lengthens the stay. Errors: as `chain_links`.
    Source: Bike Forums 2021, chain length (big-big and one inch is the least).
    """
    return chain_links(_distance(stay_mm) + _distance(growth_mm), ring_teeth, sprocket_teeth) + BIG_BIG_RESERVE_LINKS


def even_links(links: float) -> int:
    """The least even number of links that is no less: inner and outer links take turns, so a chain joins evenly.

    Errors: ValueError for a negative number or one that is not finite. Source: common practice; geometry of the links.
    """
    if not (math.isfinite(links) and links >= 0):
        raise ValueError(f"{links} links must be a finite number, 0 or more")
    return 2 * math.ceil(links / 2 - 1e-9)


def teeth_apart(biggest_teeth: float, smallest_teeth: float) -> float:
    """By how many teeth two wheels differ: never less than none, and infinite where the biggest may be.

    Errors: ValueError for a negative number. Source: as `capacity_needed_teeth`.
    """
    if not (biggest_teeth >= 0 and smallest_teeth >= 0):
        raise ValueError(f"{biggest_teeth} and {smallest_teeth} teeth: numbers of 0 or more are expected")
    return max(biggest_teeth - smallest_teeth, 0.0)


def capacity_needed_teeth(
    biggest_ring: float, smallest_ring: float, biggest_sprocket: float, smallest_sprocket: float
) -> float:
    """Teeth that a rear derailleur must take up: biggest less smallest ring, and the same of the sprockets.

    Errors: as `teeth_apart`. Source: Jitetan, total capacity; De Fietssite, capacity of the rear derailleur.
    """
    return teeth_apart(biggest_ring, smallest_ring) + teeth_apart(biggest_sprocket, smallest_sprocket)


def growth_in_teeth(growth_mm: float) -> float:
    """The chain that a rear suspension pulls in, counted as teeth of capacity: two for a link.

    growth_mm is how much it lengthens the stay; the chain runs there and back. Errors: ValueError for a negative one.
    Source: geometry; half a link for each tooth: Jitetan, total capacity.
    """
    if not growth_mm >= 0:
        raise ValueError(f"a growth of {growth_mm} mm must be a number, 0 or more")
    return 4 * growth_mm / PITCH_MM


def slack_mm(needed_teeth: float, capacity_teeth: float) -> float:
    """How far in mm a chain that is long enough for the biggest wheels hangs slack on the smallest ones.

    Errors: as `teeth_apart`. Source: Jitetan, total capacity: a derailleur takes up half a link for each tooth.
    """
    return teeth_apart(needed_teeth, capacity_teeth) / 2 * PITCH_MM


def _wheel(teeth: float) -> float:
    if not (math.isfinite(teeth) and teeth >= _FEWEST_TEETH):
        raise ValueError(f"a wheel with {teeth} teeth is none: at least {_FEWEST_TEETH} are expected")
    return teeth


def _distance(length_mm: float) -> float:
    if not (math.isfinite(length_mm) and length_mm >= 0):
        raise ValueError(f"a length of {length_mm} mm must be a finite number, 0 or more")
    return length_mm


def _above_zero(length_mm: float) -> float:
    if not (math.isfinite(length_mm) and length_mm > 0):
        raise ValueError(f"a distance of {length_mm} mm must be a finite number above 0")
    return length_mm
