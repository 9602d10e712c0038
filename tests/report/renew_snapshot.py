"""The tables of the front axle as text, and how to renew the copy kept beside this file.

After a wanted change of the tables: `python -m tests.report.renew_snapshot`, then read the difference before you commit
it.
"""

from pathlib import Path

from optimiser.report.analysis.record import analyse
from optimiser.report.analysis.tables import analysis_tables
from optimiser.report.tables.cells import View
from tests.report.studies import EXCLUSIVE, HELD, WISHED, front_study

SNAPSHOT = Path(__file__).with_name("front_analysis.txt")
"""What `rendered` gave when it was last looked at."""


def rendered() -> str:
    """The front axle's tables, for goals of which it misses two, as they are printed where there is no terminal."""
    return "\n".join(analysis_tables(analyse(front_study(*HELD, *EXCLUSIVE, *WISHED)), View())) + "\n"


if __name__ == "__main__":
    SNAPSHOT.write_text(rendered(), encoding="utf-8")
