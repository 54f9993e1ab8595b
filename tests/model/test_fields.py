"""The catalogue of fields is one, consistent and complete for what the product says it carries."""

from fleet.model.address import Place
from fleet.model.fields import FIELDS, Job, Kind, Merge, Plane, column_fields, reading, setting


def test_no_field_is_listed_twice() -> None:
    keys = [(field.place, field.name, field.job) for field in FIELDS]
    assert len(keys) == len(set(keys))


def test_names_end_with_their_unit() -> None:
    endings = {"dBm": "_dbm", "dB": "_db", "Hz": "_hz", "mW": "_mw", "V": "_v", "s": "_s", "dBFS": "_dbfs"}
    for field in FIELDS:
        if field.unit in endings:
            assert field.name.endswith(endings[field.unit]), field.name


def test_only_coded_fields_have_choices_and_each_fits_a_byte() -> None:
    for field in FIELDS:
        if field.job is Job.READING:  # The allowed values of a setting are its device's.
            assert (field.kind is Kind.ENUM) == bool(field.choices), field.name
        assert len(field.choices) < 256


def test_minima_keep_the_least_and_peaks_the_most() -> None:
    for field in FIELDS:
        if "_min_" in field.name:
            assert field.merge is Merge.LEAST, field.name
        if "_max_" in field.name or field.name.startswith("peak_"):
            assert field.merge is Merge.MOST, field.name


def test_frequencies_and_identities_never_travel_as_floats() -> None:
    for field in FIELDS:
        if field.name in ("identity", "reported_frequency_hz"):
            assert field.plane is Plane.EXACT
    assert all(field.plane is not Plane.EXACT for place in Place for field in column_fields(place))


def test_look_up_tells_setting_and_reading_apart() -> None:
    assert setting(Place.PACK, "low_cut_hz") is not None
    assert reading(Place.PACK, "low_cut_hz") is None
    rf_dbm = reading(Place.BRANCH, "rf_dbm")
    assert rf_dbm is not None
    assert rf_dbm.job is Job.READING
