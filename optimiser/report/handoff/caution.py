"""The caution that goes wherever a geometry leaves the program."""

CAUTION = (
    "Suspension parts carry lives. This geometry is computed from the inputs stated here, with rigid parts and exact "
    "joints; forces are those of the static cases stated here, if any, and of no others. Have it checked by a "
    "qualified engineer, licensed where the law asks for it, before a part is made. Parts, joints and mounts are to be "
    "sized, tested and inspected. The rules of the series or of the road, and local codes and law, come first."
)
"""In a hand-off file, on a drawing, in the README's own words."""
