"""The sentence on joint bounds comes when they lie apart, and only then."""

from fea.result.band import band_sentence


def test_close_bounds_need_no_word() -> None:
    assert band_sentence(100.0, 96.0, 105.0) is None


def test_bounds_apart_are_told_with_their_spread() -> None:
    said = band_sentence(11.5, 3.22, 24.4)
    assert said is not None
    assert "184 %" in said
    assert "--joints sheet" in said
