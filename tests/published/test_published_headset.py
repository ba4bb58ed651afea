"""Headset codes against published examples."""

from buildcheck.trade.headset import HeadsetHalf, parse_code


def test_external_cups() -> None:
    # WikiPedalia "SHIS" (wikipedalia.com) and the announcement of the identification system in a trade
    # forum, 2010: external cups, bore 34, steerer 28.6 above and crown-race seat 30 below.
    upper, lower = parse_code("EC34/28.6 | EC34/30")
    assert upper == HeadsetHalf("EC", 34, 28.6)
    assert lower == HeadsetHalf("EC", 34, 30.0)


def test_zero_stack() -> None:
    # The same sources and the trade press, 2010-11-09: ZS44/28.6 | ZS44/30 is valid.
    upper, lower = parse_code("ZS44/28.6 | ZS44/30")
    assert (upper.seat, upper.fits_mm, lower.seat, lower.fits_mm) == ("ZS44", 28.6, "ZS44", 30.0)


def test_the_diameters_are_the_steerers_in_inches() -> None:
    # Wikipedia "Headset (bicycle part)": 1, 1 1/8, 1 1/4 and 1 1/2 in steerers, coded to a tenth of a
    # millimetre.
    for inches, code in ((1, "25.4"), (1.125, "28.6"), (1.25, "31.8"), (1.5, "38.1")):
        upper, _ = parse_code(f"EC34/{code} | EC34/30")
        assert abs(upper.fits_mm - inches * 25.4) <= 0.05 + 1e-9


def test_crown_race_seats_of_one_inch_steerers_stay_apart() -> None:
    # Wikipedia "Headset (bicycle part)": ISO 26.4 mm and JIS 27.0 mm do not mate.
    _, iso = parse_code("EC30/25.4 | EC30/26.4")
    _, jis = parse_code("EC30/25.4 | EC30/27")
    assert (iso.fits_mm, jis.fits_mm) == (26.4, 27.0)
    assert iso != jis
