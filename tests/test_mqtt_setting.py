"""The broker's address holds a password: no word of it is shown."""

import pytest

from service.errors import SettingsError
from service.settings import load_settings


@pytest.mark.parametrize("url", ["http://bo:hush-hush@h", "mqtt://bo:hush-hush@h:0", "hush-hush"])
def test_a_wrong_broker_stops_the_start_without_its_password(url: str) -> None:
    with pytest.raises(SettingsError, match=r"GYLEWATCH_MQTT_URL = \*\*\*: must") as refused:
        load_settings(mqtt_url=url)

    assert "hush-hush" not in str(refused.value)


def test_a_right_broker_is_not_printed_either() -> None:
    settings = load_settings(mqtt_url="mqtt://bo:hush-hush@h")

    assert "hush-hush" not in f"{settings} {settings!r} {settings.model_dump()} {settings.model_dump_json()}"
    assert settings.mqtt_url is not None
    assert settings.mqtt_url.get_secret_value() == "mqtt://bo:hush-hush@h"


def test_a_wrong_database_is_not_repeated_with_its_password() -> None:
    with pytest.raises(SettingsError, match=r"GYLEWATCH_DATABASE_URL = \*\*\*: ") as refused:
        load_settings(database_url="mysql://bo:hush-hush@h")

    assert "hush-hush" not in str(refused.value)
