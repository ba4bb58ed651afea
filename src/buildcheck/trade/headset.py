"""The open headset code: how a headset half says which head tube it sits in and which fork part it
takes."""

import re
from dataclasses import dataclass

SEAT_TYPES = ("EC", "ZS", "IS")
"""External cup, zero stack (semi-integrated cup), integrated (the bearing sits in the frame)."""

CROWN_SEATS_MM: dict[float, float] = {26: 26.4, 27: 27.0, 30: 30.0, 33: 33.0, 40: 39.8}
"""What the code writes after the slash of a lower half in whole mm, and the crown-race seat that it means: 26 is the
26.4 mm of ISO, 27 the 27.0 mm of JIS.

Source: Wikipedia, Headset (bicycle part): 26.4 and 27.0 mm do not mate; WikiPedalia, SHIS: 30 mm, and that the code
rounds; 33.0 and 39.8 mm from memory.
"""

STEERERS_MM: dict[float, float] = {25: 25.4, 28: 28.6, 31: 31.8, 38: 38.1}
"""What stands after the slash of an upper half where somebody left the tenths out, and the steerer that it means.

Source: Wikipedia, Headset (bicycle part): steerers of 1, 1-1/8, 1-1/4 and 1-1/2 in.
"""

_HALF = re.compile(r"(EC|ZS|IS)(\d{2})/(\d{2}(?:\.\d)?)")
_EXPECTED = "expected TYPE bore/diameter such as IS42/28.6, with TYPE one of EC, ZS, IS"


@dataclass(frozen=True)
class HeadsetHalf:
    """One half of a headset code.

    type: EC, ZS or IS. bore_code: the head-tube bore as the code writes it, whole mm and rounded (49 stands
    for a 49.6 mm bore), so it is compared with other codes and never with a calliper. fits_mm: the diameter
    in mm after the slash: the steerer for an upper half, the crown-race seat for a lower half.
    Errors: none; the parsers below check. Source: the open headset identification system (SHIS),
    wikipedalia.com.
    """

    type: str
    bore_code: int
    fits_mm: float

    @property
    def seat(self) -> str:
        """What the head tube must offer, e.g. "IS42". IS41 and ZS41 are different seats. Errors: none.

        Source: as for the class.
        """
        return f"{self.type}{self.bore_code}"

    @property
    def steerer_mm(self) -> float:
        """The true diameter in mm of the steerer that an upper half takes. Errors: none. Source: `STEERERS_MM`."""
        return STEERERS_MM.get(self.fits_mm, self.fits_mm)

    @property
    def crown_seat_mm(self) -> float:
        """The true diameter in mm of the crown-race seat that a lower half takes: 26 in its code is 26.4 mm.

        Errors: none. Source: `CROWN_SEATS_MM`.
        """
        return CROWN_SEATS_MM.get(self.fits_mm, self.fits_mm)

    def __str__(self) -> str:
        return f"{self.seat}/{self.fits_mm:g}"


def parse_half(text: str) -> HeadsetHalf:
    """Read one half such as "IS42/28.6": bore in whole mm (rounded), diameter in mm.

    Lower case and spaces are accepted, because price lists write the code in every way.
    Errors: ValueError that says what was expected. Source: the open headset identification system (SHIS),
    wikipedalia.com; the regular expression is worked out from its examples.
    """
    match = _HALF.fullmatch(re.sub(r"\s+", "", text).upper())
    if match is None:
        raise ValueError(f"headset code {text!r} cannot be read: {_why_not(text)}")
    return HeadsetHalf(match[1], int(match[2]), float(match[3]))


def _why_not(text: str) -> str:
    compact = re.sub(r"\s+", "", text).upper()
    letters = re.match(r"[A-Z]*", compact)
    kind = letters[0] if letters else ""
    if kind not in SEAT_TYPES:
        return f"{kind or 'nothing'!r} is not a seat type; {_EXPECTED}"
    if "/" not in compact:
        return f"no '/' before the fork diameter; {_EXPECTED}"
    if "|" in compact:
        return f"this is a whole code, not one half; {_EXPECTED}"
    return _EXPECTED
