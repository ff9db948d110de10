from hypothesis import given
from hypothesis import strategies as st

from logger.bus.scratchpad import crc8, nine_bytes, slave_text
from logger.reading import Grade

# The example of Linux Documentation/w1/slaves/w1_therm.rst's format: 25.0625 °C.
TEXT = b"91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
PAD = bytes.fromhex("91014b467fff0f1025")

nine = st.binary(min_size=9, max_size=9)


def test_checksum_of_the_catalogue_check_string():
    # CRC-8/MAXIM-DOW in Greg Cook's catalogue of parametrised CRC algorithms: check 0xA1.
    assert crc8(b"123456789") == 0xA1


def test_checksum_of_the_makers_example():
    # Maxim application note 27: the number 02 1C B8 01 00 00 00 is followed by A2.
    assert crc8(bytes.fromhex("021cb801000000")) == 0xA2


def test_reads_the_kernels_text():
    assert nine_bytes(TEXT) == PAD


def test_writes_the_kernels_text():
    assert slave_text(PAD, PAD, 25062) == TEXT


def test_a_missing_last_newline_does_no_harm():
    assert nine_bytes(TEXT.rstrip()) == PAD


def test_the_kernels_no_is_believed():
    assert nine_bytes(TEXT.replace(b"YES", b"NO")) is Grade.CRC


def test_the_kernels_yes_is_not_believed_where_the_bytes_say_otherwise():
    assert nine_bytes(TEXT.replace(b"91 01", b"92 01")) is Grade.CRC


def test_kept_bytes_of_an_earlier_read_are_never_taken():
    other = bytes.fromhex("50054b467fff10101c")
    text = slave_text(other[:8] + b"\x00", PAD, 85000)
    assert b": crc=" in text
    assert nine_bytes(text) is Grade.CRC


def test_halves_of_two_texts_are_torn():
    first, _ = TEXT.splitlines(keepends=True)
    _, second = slave_text(bytes(9), bytes(9), 0).splitlines(keepends=True)
    assert nine_bytes(first + second) is Grade.TORN


def test_empty():
    assert nine_bytes(b"") is Grade.EMPTY
    assert nine_bytes(b"\n") is Grade.EMPTY


def test_no_part_of_a_text_is_taken_for_the_whole():
    t_field = TEXT.index(b"t=") + len(b"t=")  # from its first digit on, all the bytes are there
    for length in range(1, t_field + 1):
        assert nine_bytes(TEXT[:length]) is Grade.TORN


def test_two_texts_in_a_row_are_torn():
    assert nine_bytes(TEXT + TEXT) is Grade.TORN


@given(nine, nine)
def test_only_nine_bytes_with_their_checksum_come_through(sent, kept):
    result = nine_bytes(slave_text(sent, kept, 0))
    if crc8(sent[:8]) != sent[8]:
        assert result is Grade.CRC
    else:
        assert result == (sent if kept == sent else Grade.TORN)


@given(st.binary(max_size=200))
def test_bytes_that_are_no_text_give_no_bytes(text):
    assert isinstance(nine_bytes(text), Grade)


@given(st.data())
def test_one_hurt_character_is_never_taken_for_another_reading(data):
    place = data.draw(st.integers(0, len(TEXT) - 1))
    hurt = bytearray(TEXT)
    hurt[place] = data.draw(st.integers(0, 255))
    assert nine_bytes(bytes(hurt)) in {PAD, Grade.CRC, Grade.TORN}
