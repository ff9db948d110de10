"""Settings: options over environment over file, and a sentence for whatever cannot be used."""

import json
import re
from pathlib import Path

import pytest

from logger.bus.iio import Channel
from logger.errors import SettingsError
from logger.reading import SeriesKey
from logger.settings import FILE_NAME, KERNEL_BUS, PREFIX, Settings, load


@pytest.fixture(autouse=True)
def _bare_environment(monkeypatch, tmp_path):
    for key in Settings.model_fields:
        monkeypatch.delenv(PREFIX + key.upper(), raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))


@pytest.fixture
def file(tmp_path):
    def write(text, folder="data"):
        path = tmp_path / folder / FILE_NAME
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
        return path

    return write


def refused(*args, **options):
    with pytest.raises(SettingsError) as caught:
        load(*args, **options)
    return str(caught.value)


def test_defaults_are_local_and_the_kernels(tmp_path):
    settings = load()
    assert settings.data == tmp_path / "home" / "wormtub"
    assert settings.bus == KERNEL_BUS
    assert (settings.host, settings.port) == ("127.0.0.1", 8080)
    assert (settings.period_hot_s, settings.period_idle_s) == (1, 10)
    assert settings.resolution_bits == "auto"
    assert settings.iio == ()


def test_option_beats_environment_beats_file(file, monkeypatch):
    data = file("port = 8001\nperiod_hot_s = 2\nperiod_idle_s = 20\n").parent
    monkeypatch.setenv("WORMTUB_PERIOD_HOT_S", "3")
    monkeypatch.setenv("WORMTUB_PERIOD_IDLE_S", "30")
    settings = load(data=data, period_idle_s=40)
    assert (settings.port, settings.period_hot_s, settings.period_idle_s) == (8001, 3, 40)


def test_file_is_found_in_the_data_folder_that_the_environment_names(file, monkeypatch):
    monkeypatch.setenv("WORMTUB_DATA", str(file("port = 8001\n").parent))
    assert load().port == 8001


def test_file_given_beats_the_one_in_the_data_folder(file):
    data = file("port = 8001\n").parent
    assert load(file("port = 8002\n", "elsewhere"), data=data).port == 8002


def test_relative_folders_in_a_file_start_at_the_file(file):
    path = file('data = "kept"\nbus = "wires"\n', "elsewhere")
    settings = load(path)
    assert (settings.data, settings.bus) == (path.parent / "kept", path.parent / "wires")


def test_channels_with_commas_from_the_environment(monkeypatch):
    monkeypatch.setenv("WORMTUB_IIO", "bmp280/pressure@/sim/iio, iio:device1/temp")
    assert load().iio == (
        Channel("bmp280", "pressure", folder=Path("/sim/iio")),
        Channel("iio:device1", "temp"),
    )


def test_channels_as_tables_in_an_option():
    scale = {"device": "hx711", "channel": "voltage0", "quantity": "mass_kg", "scale": 15.0,
             "counts_per_unit": 200, "low": None, "folder": "/sim/iio"}  # fmt: skip
    given = json.dumps([{"device": "bmp280", "channel": "pressure"}, scale])
    barometer, scale = load(iio=given).iio
    assert barometer == Channel("bmp280", "pressure")
    assert scale.series == SeriesKey("iio-hx711-voltage0", "mass_kg", 200)
    assert scale.folder == Path("/sim/iio")


def test_channels_as_tables_in_the_file(file):
    text = """
[[iio]]
device = "hx711"
channel = "voltage0"
name = "scale"
quantity = "mass_kg"
scale = 0.002
counts_per_unit = 100
"""
    [channel] = load(data=file(text).parent).iio
    assert channel.series == SeriesKey("iio-scale", "mass_kg", 100)


def test_the_example_loads_and_names_channels(file):
    text = (Path(__file__).parents[2] / "deploy" / "wormtub.example.toml").read_text()
    settings = load(data=file(text).parent)
    assert (settings.host, settings.period_hot_s, settings.period_idle_s) == ("127.0.0.1", 1, 10)
    assert [channel.series for channel in settings.iio] == [
        SeriesKey("iio-bmp280-pressure", "pressure_hpa", 16),
        SeriesKey("iio-flue", "temperature_c", 128),
        SeriesKey("iio-scale", "mass_kg", 100),
    ]
    assert settings.iio[2].limits == (0.0, 60.0)
    shown = set(re.findall(r"^(?:# )?\[*(\w+)(?: =|\])", text, re.MULTILINE))
    assert set(Settings.model_fields) - shown == {"data"}  # the folder it lies in


@pytest.mark.parametrize(
    ("channel", "says"),
    [
        ("bmp280", "expected Linux IIO channels, each a DEVICE/CHANNEL or a table"),
        ('[{"device": "bmp280"', "expected Linux IIO channels, each a DEVICE/CHANNEL or a table"),
        ("hx711/voltage0", "give its quantity, scale and counts_per_unit."),
    ],
)
def test_channels_that_say_too_little(channel, says):
    said = refused(iio=channel)
    assert said.startswith(f"--iio {channel} cannot be used: ")
    assert says in said


def test_unknown_key_of_a_channel(file):
    path = file('iio = [{device = "bmp280", channel = "pressure", scal = 1.0}]')
    assert "cannot be used: expected Linux IIO channels" in refused(data=path.parent)


def test_resolution_from_the_environment(monkeypatch):
    monkeypatch.setenv("WORMTUB_RESOLUTION_BITS", "11")
    assert load().resolution_bits == 11


def test_empty_variable_counts_as_none(monkeypatch):
    monkeypatch.setenv("WORMTUB_PORT", "")
    assert load().port == 8080


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ("port = 0", "port"),
        ('port = "web"', "port"),
        ("period_hot_s = 0", "period_hot_s"),
        ("period_hot_s = 1.5", "period_hot_s"),
        ("period_idle_s = 601", "period_idle_s"),
        ("resolution_bits = 13", "resolution_bits"),
        ('host = "no host"', "host"),
        ('host = "300.1.1.1"', "host"),
        ("iio = 4", "iio"),
        ("bus = 4", "bus"),
    ],
)
def test_bad_value_in_the_file_names_key_file_and_expectation(file, line, key):
    path = file(line + "\n")
    said = refused(data=path.parent)
    assert said.startswith(f"{key} = ")
    assert str(path) in said
    assert said.endswith(f"expected {Settings.model_fields[key].description}.")
    assert "\n" not in said


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "0.0.0.0", "still.local", "pi4"])
def test_hosts_taken(host):
    assert load(host=host).host == host


def test_bad_value_names_the_variable(monkeypatch):
    monkeypatch.setenv("WORMTUB_PORT", "http")
    assert refused().startswith("WORMTUB_PORT=http cannot be used")


def test_bad_value_names_the_option():
    assert refused(period_hot_s=0).startswith("--period-hot-s 0 cannot be used")


def test_idle_faster_than_hot_is_refused():
    said = refused(period_hot_s=20)
    assert said == (
        "The default period_idle_s = 10 cannot be used: expected a whole number of seconds "
        "from 1 to 600, not below period_hot_s."
    )


def test_unknown_key_names_file_and_the_settings(file):
    path = file("prot = 8001\n")
    said = refused(data=path.parent)
    assert said.startswith(f"prot in {path} is not a setting; the settings are data, bus, ")


def test_data_folder_cannot_move_itself(file):
    path = file('data = "elsewhere"\n')
    assert refused(data=path.parent).startswith(f"data in {path} cannot be set there")


def test_file_that_is_not_toml(file):
    path = file("port: 8001\n")
    assert refused(data=path.parent).startswith(f"The settings file {path} is not TOML: ")


def test_file_given_but_missing(tmp_path):
    said = refused(tmp_path / "none.toml")
    assert (
        said == f"The settings file {tmp_path}/none.toml cannot be read: No such file or directory."
    )
