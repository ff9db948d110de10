"""Settings: options over environment over file, and a sentence for whatever cannot be used."""

import pytest

from logger.errors import SettingsError
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


def test_list_with_commas_from_the_environment(monkeypatch):
    monkeypatch.setenv("WORMTUB_IIO", "one, two")
    monkeypatch.setenv("WORMTUB_RESOLUTION_BITS", "11")
    assert load().iio == ("one", "two")
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
