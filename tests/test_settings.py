from pathlib import Path

from service.settings import Settings, settings_table

DOCS = Path(__file__).parent.parent / "docs" / "settings.md"


def test_the_documented_table_is_the_declared_one() -> None:
    assert DOCS.read_text().endswith(settings_table()), (
        "docs/settings.md differs: put the text of service.settings.settings_table() at its end"
    )


def test_every_setting_has_help() -> None:
    assert all(field.description for field in Settings.model_fields.values())
