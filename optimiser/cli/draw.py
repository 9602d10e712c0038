"""`rockwright draw`: a geometry or a front on paper."""

import argparse
import sys
from pathlib import Path

HELP = """\
Draws a geometry, a study's own or a hand-off's: front view with eye lengths, the ends of heave,
roll, one wheel's travel and steer, the rocker along its axis with arms, angles, offsets and what
each arm sweeps, and curves of motion ratio, strut travel, rates and forces; sheets of A3, to scale.
Of a results folder it draws the front: objective against objective, with the base and the knee
named. The file's ending says the form: svg, pdf or png; dxf gives the rocker's centres and arms at
1:1 for CAD (needs the extra `dxf`)."""
EXAMPLE = """rockwright draw configs/front.yaml -o front.svg
  rockwright draw front-axle.yaml -o front-axle.pdf
  rockwright draw configs/front.yaml -o rocker.dxf
  rockwright draw results/front -o set.png"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what is drawn and the file that it goes into."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a study, a hand-off file, or a results folder")
    parser.add_argument("-o", "--output", type=Path, metavar="OUT", required=True, help="OUT.svg, .pdf, .png or .dxf")
    parser.add_argument("--force", action="store_true", help="overwrite OUT where it is there already")


def run(args: argparse.Namespace) -> int:
    """Write the file; 0. Raises NothingFoundError (exit code 1) where a folder has no member."""
    from optimiser.report.drawing.writing import PLATE, refuse_target

    refuse_target(args.output, force=args.force, plate=not args.file.is_dir())
    if args.file.is_dir():
        told = _front(args.file, args.output)
    elif args.output.suffix.lower() == PLATE:
        told = _plate(args.file, args.output)
    else:
        told = _study(args.file, args.output)
    sys.stdout.write(f"{args.output}: {told}. Have it checked by a qualified engineer before a part is made.\n")
    return 0


def _study(source: Path, target: Path) -> str:
    from optimiser.report.drawing.border import Title
    from optimiser.report.drawing.study_drawing import study_drawing
    from optimiser.report.drawing.writing import program, write_drawing
    from optimiser.study.read import read_study

    study = read_study(source)
    drawing = study_drawing(study, Title(study.name, f"file {source.name}", study.fingerprint, program()))
    write_drawing(drawing, target)
    return f"{len(drawing.sheets)} sheets of A3"


def _plate(source: Path, target: Path) -> str:
    from optimiser.report.drawing.border import Title
    from optimiser.report.drawing.plate import plate_dxf
    from optimiser.report.drawing.writing import program
    from optimiser.report.results.files import write_durably
    from optimiser.study.read import read_study

    study = read_study(source)
    data = plate_dxf(study.axle, Title(study.name, f"file {source.name}", study.fingerprint, program()))
    write_durably(target.parent, target.name, data)
    return "the left rocker's centres and arms, 1:1 in mm"


def _front(folder: Path, target: Path) -> str:
    from optimiser.report.drawing.border import Title
    from optimiser.report.drawing.front_drawing import front_drawing
    from optimiser.report.drawing.writing import program, write_drawing
    from optimiser.report.front.frame import frame
    from optimiser.report.results.store import read_store

    front = frame(read_store(folder))
    manifest = front.store.manifest
    title = Title(manifest.study, f"results folder {folder.resolve().name}", manifest.fingerprint, program())
    write_drawing(front_drawing(front, title), target)
    return f"{front.members:,} members by {len(manifest.objectives)} objectives, a sheet of A3"
