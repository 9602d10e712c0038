"""What each of several folders brings to their union, in words."""

from textwrap import wrap

from optimiser.report.results.union import Union


def folder_lines(union: Union, wide: int) -> list[str]:
    """For each folder its number, as the column `from` shows it, and how many of its members are in the union.

    In lines of at most `wide` characters.
    """
    columns = zip(union.folders, union.members, union.kept, union.renamed, strict=True)
    lines = []
    for number, (folder, members, kept, renamed) in enumerate(columns, 1):
        brought = f"{kept:,} of its {members:,} members are in the union" if members else "no members"
        new = f", {renamed:,} under new ids, since an earlier folder has theirs for others" if renamed else ""
        lines += wrap(f"from {number}: {folder}: {brought}{new}", wide, subsequent_indent="  ")
    return lines
