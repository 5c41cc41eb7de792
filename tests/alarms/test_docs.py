from pathlib import Path

from service.alarms.handbook import handbook

PAGE = Path(__file__).parents[2] / "docs" / "alarms.md"


def test_the_page_about_alarms_says_what_the_program_does() -> None:
    assert PAGE.read_text() == handbook(), (
        "docs/alarms.md is out of date. Write it anew: python -m service.alarms.handbook > docs/alarms.md"
    )
