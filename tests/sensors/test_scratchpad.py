import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.sample import FaultKind
from sensors.scratchpad import (
    Reading,
    Unusable,
    crc8,
    is_intact,
    is_power_on,
    is_zeros,
    read_text,
    resolution,
    temperature_c,
)
from tests.emulated.part import scratchpad

GOOD = b"70 01 4b 46 7f ff 10 10 e1 : crc=e1 YES\n70 01 4b 46 7f ff 10 10 e1 t=23000\n"


# DS18B20 datasheet, table 1: temperature and data.
@pytest.mark.parametrize(
    "count, temp_c",
    [
        (0x07D0, 125.0),
        (0x0550, 85.0),
        (0x0191, 25.0625),
        (0x00A2, 10.125),
        (0x0008, 0.5),
        (0x0000, 0.0),
        (0xFFF8, -0.5),
        (0xFF5E, -10.125),
        (0xFE6F, -25.0625),
        (0xFC90, -55.0),
    ],
)
def test_it_reads_the_temperatures_of_the_datasheet(count: int, temp_c: float) -> None:
    nine = scratchpad(count)

    assert temperature_c(nine) == temp_c


# Maxim application note 27; the scratchpads' checksums were computed by plain arithmetic.
@pytest.mark.parametrize(
    "data, crc",
    [
        ("02 1c b8 01 00 00 00", 0xA2),
        ("50 05 4b 46 7f ff 0c 10", 0x1C),
        ("70 01 4b 46 7f ff 10 10", 0xE1),
        ("73 01 4b 46 7f ff 0d 10", 0x41),
    ],
)
def test_it_computes_the_checksum_of_the_published_vectors(data: str, crc: int) -> None:
    assert crc8(bytes.fromhex(data)) == crc


def test_nine_zero_bytes_have_a_right_checksum_and_are_known_by_rule() -> None:
    assert is_intact(bytes(9))
    assert is_zeros(bytes(9))
    assert not is_zeros(scratchpad(0))


def test_nine_high_bytes_have_a_wrong_checksum() -> None:
    assert not is_intact(b"\xff" * 9)


@pytest.mark.parametrize("size", [0, 8, 10])
def test_only_nine_bytes_can_be_intact(size: int) -> None:
    assert not is_intact(bytes(size))


@given(raw=st.integers(-880, 2000), bit=st.integers(0, 71))
def test_a_single_wrong_bit_anywhere_breaks_the_checksum(raw: int, bit: int) -> None:
    nine = bytearray(scratchpad(raw))

    nine[bit // 8] ^= 1 << (bit % 8)

    assert not is_intact(bytes(nine))


def test_the_power_on_pattern_is_told_from_a_true_85_degrees_by_byte_six() -> None:
    assert is_power_on(scratchpad(0x0550, reserved=0x0C))
    assert is_power_on(scratchpad(0x07FF, reserved=0x0C))
    assert not is_power_on(scratchpad(0x0550))
    assert not is_power_on(scratchpad(0x0554))


@pytest.mark.parametrize("bits", [9, 10, 11, 12])
def test_it_reads_the_resolution_from_the_configuration_byte(bits: int) -> None:
    assert resolution(scratchpad(320, bits)) == bits


# DS18S20 datasheet, table of temperature and data, with count remain 0Ch and count per degree 10h.
@pytest.mark.parametrize("count, temp_c", [(0x00AA, 85.0), (0x0032, 25.0), (0xFFCE, -25.0)])
def test_a_ds18s20_counts_in_half_degrees_that_two_more_bytes_refine(count: int, temp_c: float) -> None:
    eight = count.to_bytes(2, "little") + bytes.fromhex("4b 46 ff ff 0c 10")

    assert temperature_c(eight + bytes([crc8(eight)]), "10") == temp_c


def test_a_ds18s20_with_nothing_to_count_by_reads_zero_as_the_driver_says() -> None:
    assert temperature_c(bytes(9), "10") == 0.0


def test_a_part_with_two_more_bits_is_read_to_a_sixty_fourth() -> None:
    eight = (-8 & 0xFFFF).to_bytes(2, "little") + bytes.fromhex("4b 46 83 ff 10 10")

    assert temperature_c(eight + bytes([crc8(eight)])) == -0.5 + 3 / 64
    assert temperature_c(bytes.fromhex("40 01 4b 46 83 ff 10 10 00")) == 20.0 + 3 / 64


def test_a_thermocouple_amplifier_has_two_spare_bits() -> None:
    eight = (0x0193).to_bytes(2, "little") + bytes.fromhex("4b 46 f0 ff 10 10")

    assert temperature_c(eight + bytes([crc8(eight)]), "3b") == 25.0


def test_a_part_of_that_family_that_measures_itself_has_none() -> None:
    assert temperature_c(scratchpad(0x0193), "3b") == 25.1875


def test_it_reads_a_good_text() -> None:
    assert read_text(GOOD) == Reading(23.0, bytes.fromhex("70014b467fff1010e1"))


def test_a_negative_value_that_the_driver_rounds_towards_zero_agrees() -> None:
    text = b"ff ff 4b 46 7f ff 01 10 aa : crc=aa YES\nff ff 4b 46 7f ff 01 10 aa t=-62\n"
    text = text.replace(b"aa", f"{crc8(bytes.fromhex('ffff4b467fff0110')):02x}".encode())

    assert read_text(text) == Reading(-0.0625, bytes.fromhex(text[:27].decode()))


ALL_HIGH = b"ff ff ff ff ff ff ff ff ff "


@pytest.mark.parametrize(
    "text, kind",
    [
        (b"", FaultKind.EMPTY),
        (b" \n\n", FaultKind.EMPTY),
        (GOOD.replace(b"YES", b"NO"), FaultKind.CRC),
        (GOOD.replace(b"YES", b"NO")[:45], FaultKind.CRC),
        (GOOD.replace(b"70 01", b"71 01"), FaultKind.CRC),
        (GOOD[:40], FaultKind.CUT_SHORT),
        (GOOD[:20], FaultKind.CUT_SHORT),
        (GOOD[:-1], FaultKind.CUT_SHORT),
        (GOOD[:-3], FaultKind.CUT_SHORT),
        (GOOD.replace(b"23000", b"2300"), FaultKind.CONTRADICTS),
        (GOOD.replace(b"23000", b"23002"), FaultKind.CONTRADICTS),
        (GOOD.replace(b"crc=e1", b"crc=e2"), FaultKind.CONTRADICTS),
        (GOOD[:40] + GOOD[40:].replace(b"70 01", b"71 01"), FaultKind.CONTRADICTS),
        (GOOD.replace(b"t=23000", b"t=23.0 "), FaultKind.UNREADABLE),
        (GOOD.upper(), FaultKind.UNREADABLE),
        (GOOD.replace(b"t=", b"\xff="), FaultKind.UNREADABLE),
        (ALL_HIGH + b": crc=c9 NO\n" + ALL_HIGH + b"t=-62\n", FaultKind.LINGERS),
    ],
)
def test_it_tells_why_a_text_holds_no_value(text: bytes, kind: FaultKind) -> None:
    found = read_text(text)

    assert isinstance(found, Unusable)
    assert found.kind is kind
    assert found.detail


def test_nine_zeros_stay_a_reading_for_the_screening_to_refuse() -> None:
    zeros = b"00 00 00 00 00 00 00 00 00 "

    assert read_text(zeros + b": crc=00 YES\n" + zeros + b"t=0\n") == Reading(0.0, bytes(9))


def _vouched(found: Reading | Unusable, text: bytes, family: str) -> bool:
    """Whether whatever was read is vouched for by an intact scratchpad that stands in the text."""
    if isinstance(found, Unusable):
        return True
    return (
        is_intact(found.scratchpad)
        and found.raw_c == temperature_c(found.scratchpad, family)
        and text.startswith(found.scratchpad.hex(" ").encode())
    )


@given(text=st.binary(max_size=120), family=st.sampled_from(["28", "10", "22", "3b", "42"]))
def test_no_bytes_make_it_raise_or_give_a_value_without_an_intact_scratchpad(
    text: bytes, family: str
) -> None:
    assert _vouched(read_text(text, family), text, family)


@settings(max_examples=300)
@given(at=st.integers(0, len(GOOD) - 1), byte=st.integers(0, 255))
def test_no_single_wrong_byte_in_a_good_text_gives_another_value(at: int, byte: int) -> None:
    text = GOOD[:at] + bytes([byte]) + GOOD[at + 1 :]

    found = read_text(text)

    assert isinstance(found, Unusable) or abs(found.raw_c - 23.0) < 1e-9


@given(length=st.integers(0, len(GOOD) - 1))
def test_no_cut_of_a_good_text_gives_a_value(length: int) -> None:
    assert isinstance(read_text(GOOD[:length]), Unusable)


@given(nine=st.binary(min_size=9, max_size=9), shown=st.integers(-200000, 200000))
def test_a_well_formed_text_around_any_bytes_gives_their_value_or_none(nine: bytes, shown: int) -> None:
    hexed = nine.hex(" ")
    text = f"{hexed} : crc={crc8(nine[:8]):02x} YES\n{hexed} t={shown}\n".encode()

    assert _vouched(read_text(text), text, "28")
