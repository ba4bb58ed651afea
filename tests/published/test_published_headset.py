"""Headset codes against published examples."""

from buildcheck.trade.headset import HeadsetHalf, parse_half


def test_external_cups() -> None:
    # WikiPedalia "SHIS" (wikipedalia.com) and the announcement of the identification system in a trade
    # forum, 2010: external cups, bore 34, steerer 28.6 above and crown-race seat 30 below.
    upper, lower = parse_half("EC34/28.6"), parse_half("EC34/30")
    assert upper == HeadsetHalf("EC", 34, 28.6)
    assert lower == HeadsetHalf("EC", 34, 30.0)


def test_zero_stack() -> None:
    # The same sources and the trade press, 2010-11-09: ZS44/28.6 | ZS44/30 is valid.
    upper, lower = parse_half("ZS44/28.6"), parse_half("ZS44/30")
    assert (upper.seat, upper.fits_mm, lower.seat, lower.fits_mm) == ("ZS44", 28.6, "ZS44", 30.0)


def test_the_diameters_are_the_steerers_in_inches() -> None:
    # Wikipedia "Headset (bicycle part)": 1, 1 1/8, 1 1/4 and 1 1/2 in steerers, coded to a tenth of a
    # millimetre.
    for inches, code in ((1, "25.4"), (1.125, "28.6"), (1.25, "31.8"), (1.5, "38.1")):
        assert abs(parse_half(f"EC34/{code}").fits_mm - inches * 25.4) <= 0.05 + 1e-9


def test_crown_race_seats_of_one_inch_steerers_stay_apart() -> None:
    # Wikipedia "Headset (bicycle part)": ISO 26.4 mm and JIS 27.0 mm do not mate.
    iso, jis = parse_half("EC30/26.4"), parse_half("EC30/27")
    assert (iso.fits_mm, jis.fits_mm) == (26.4, 27.0)
    assert iso != jis


def test_what_the_code_rounds_is_read_by_its_true_figure() -> None:
    # Wikipedia "Headset (bicycle part)": seats of 26.4 and 27.0 mm, steerers in tenths; WikiPedalia "SHIS": the code
    # rounds, and 30 is 30.0 mm. 33.0 and 39.8 mm are from memory.
    seats = {"26": 26.4, "26.4": 26.4, "27": 27.0, "30": 30.0, "33": 33.0, "40": 39.8, "39.8": 39.8}
    assert {code: parse_half(f"EC49/{code}").crown_seat_mm for code in seats} == seats
    steerers = {"25": 25.4, "28": 28.6, "28.6": 28.6, "31": 31.8, "31.8": 31.8, "38": 38.1}
    assert {code: parse_half(f"EC49/{code}").steerer_mm for code in steerers} == steerers
