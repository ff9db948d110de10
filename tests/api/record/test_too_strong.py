"""No still gives more than 97.2 % vol: refused wherever a distilled strength is read."""

from tests.api.record.small import STRENGTH

TOO_STRONG = {"reading_abv": 98.0, "temperature_c": 20.0}


def refused(error):
    assert error["error"]["field"] == "reading_abv"
    assert "distilling gives no more than 97.2" in error["error"]["sentence"]


def test_at_the_spout(small):
    read = {"vessel_id": small.vessel_id} | TOO_STRONG
    refused(small.say("spout", 10, 422, **read))
    small.say("spout", 10, **read | {"reading_abv": 96.0})


def test_of_what_goes_from_a_distilled_lot_or_comes_into_one(small):
    spirit, other = small.lot("spirit", "spirit"), small.lot("other", "bought, absolute")
    small.move("receive", 1, to_lot=spirit, volume_l=10.0, reading_abv=60.0, **STRENGTH)
    small.move("receive", 1, to_lot=other, volume_l=5.0, reading_abv=99.8, **STRENGTH)
    refused(small.move("sample", 5, 422, from_lot=spirit, volume_l=0.1, **TOO_STRONG))
    refused(small.move("receive", 5, 422, to_lot=spirit, volume_l=1.0, **TOO_STRONG))
    bottled = {"lot_id": spirit, "name": "lot 1", "count": 2, "volume_l": 0.5} | TOO_STRONG
    refused(small.say("bottle_fill", 5, 422, **bottled))


def test_a_volume_far_too_large_is_told_in_plain_figures(small):
    small.ask("PUT", "jar-vessels/79", volume_l=3.0, version=0)
    read = {"number": 79, "volume_l": 99_999.0, "at": "2026-09-21T12:05:00Z"}
    error = small.ask("POST", f"runs/{small.run_id}/jars", 422, **read)["error"]
    assert error["sentence"].startswith("99999 L do not fit in jar 79, which holds 3 L;")
