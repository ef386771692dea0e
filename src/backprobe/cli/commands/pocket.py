"""Write the pocket card of a sheet: one page for a phone with no server and no signal."""

from __future__ import annotations

import click

from backprobe.cli.inputs import STDIN, circumstance_option, json_option, make_engine, read_sheet, wrong
from backprobe.cli.output import progress, say, say_json


@click.command(
    "pocket",
    epilog="Example: backprobe pocket sprayer.yaml\n\n"
    'Example: backprobe pocket "battery+ > fuse F1 5 A > key > relay coil K1 > frame" -o card.html',
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.option(
    "-o",
    "--output",
    "file",
    metavar="FILE",
    help="A new file, - for standard output; else named after the sheet.",
)
@click.option("--replace", is_flag=True, help="Write over a file of that name.")
@circumstance_option
@json_option
def run(
    *, sheet: str | None, file: str | None, replace: bool, circumstances: tuple[str, ...], as_json: bool
) -> None:
    """Write one HTML file that ranks readings and names the next check on a phone, without a network.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. Mail the file or copy it
    over and open it: it answers as this program does over single faults, and says where the laptop is needed.
    """
    from backprobe.report.pocket import pocket
    from backprobe.report.pocket.card_words import card_name, pocket_data, pocket_text

    if file == STDIN and as_json:
        raise wrong(
            "--json", file, "cannot share standard output with the card", "Name a file with --output."
        )
    found = read_sheet(sheet)
    with progress("settling every fault in every setup"):
        engine = make_engine(found, circumstances)
        page = pocket(engine)
    if file == STDIN:
        say(page)
        return
    name = file or card_name(found, sheet or "")
    _write(name, page, replace)
    say_json(pocket_data(engine, name, page)) if as_json else say(pocket_text(engine, name, page))


def _write(file: str, page: str, replace: bool) -> None:
    from pathlib import Path

    try:
        with Path(file).open("w" if replace else "x", encoding="utf-8", newline="\n") as out:
            out.write(page)
    except FileExistsError:
        remedy = "Name a new file with --output, or add --replace."
        raise wrong("--output", file, "exists already, and is left as it is", remedy) from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        remedy = "Name a file in a folder you may write."
        raise wrong("--output", file, f"cannot be written: {reason}", remedy) from None


COMMAND = run
