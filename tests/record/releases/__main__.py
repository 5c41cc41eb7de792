"""Makes the filled record of the present schema anew: python -m tests.record.releases

Only before its release: after that the file stays as it is, and the next migration has to take it.
"""

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from service.record.database import HEAD
from tests.record.filled import filled_record


def main() -> None:
    """Write schema_NNNN.sql beside this file."""
    with tempfile.TemporaryDirectory() as name:
        filled_record(Path(name))
        with closing(sqlite3.connect(Path(name) / "record.db")) as connection:
            text = "\n".join(connection.iterdump())
    Path(__file__).with_name(f"schema_{HEAD}.sql").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
