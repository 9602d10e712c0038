"""An invented room that the tests share: ten bodies and four keep-outs around the invented front axle."""

import numpy as np

from objectives.envelope.envelope import Envelope, KeepOutBox, KeepOutCylinder, Margins, WheelSize
from tests.axles import vector

ROOM = Envelope(
    diameters={"heave": 46.0, "roll": 44.0, "rod": 20.0, "rocker": 16.0, "links": 14.0},
    wheel=WheelSize(diameter=650.0, width=260.0),
    keep_out={
        "steering_column": KeepOutCylinder(vector(-200, 0, 760), vector(150, 0, 700), 30.0),
        "bulkhead": KeepOutBox(vector(190, -400, 100), vector(220, 290, 640)),
        "tank": KeepOutBox(vector(-400, -300, 100), vector(-260, 300, 500)),
        "tube": KeepOutCylinder(vector(-200, 260, 660), vector(150, 280, 660), 40.0),
    },
    low=np.array([-90.0, 0.0, 380.0]),
    high=np.array([110.0, np.inf, 620.0]),
    margins=Margins(to_fixed=5.0, to_moving=3.0),
)
