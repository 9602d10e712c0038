"""How far a rod end or a spherical bearing can turn out of true, from its dimensions.

The ball's width along the bolt is W, the housing's H. Out of true by t, the housing's rim, H/2 off the ball's middle
plane, rises towards what stands beside the ball; each angle is where the two meet (common practice of rod-end makers'
engineering pages, as a closed form of the section through the bolt).

| symbol | meaning | unit |
|---|---|---|
| W, H | width of the ball, and of the housing | mm |
| E, B | diameter of the ball, and of its bore | mm |
| D, C | outer diameter of the head, and its chamfer | mm |
"""

import math


def angle_in_fork(ball_width: float, housing_width: float, head_diameter: float, chamfer: float) -> float:
    """Angle [deg] at which the head meets a fork or a face that is wider than it is.

    asin(W / A) - asin(H / A), A^2 = (D - 2 C)^2 + H^2 the head's diagonal. NaN where the dimensions give none.
    """
    reach = math.hypot(head_diameter - 2.0 * chamfer, housing_width)
    return _between(ball_width / reach, housing_width / reach)


def angle_beside_spacer(ball_width: float, housing_width: float, ball_diameter: float) -> float:
    """Angle [deg] at which the housing's rim comes to the edge of the ball's flat, and of a spacer that is as wide.

    asin(W / E) - asin(H / E). NaN where the dimensions give none.
    """
    return _between(ball_width / ball_diameter, housing_width / ball_diameter)


def angle_beside_bolt(bore: float, housing_width: float, ball_diameter: float) -> float:
    """Angle [deg] at which the housing's rim meets a bolt as thick as the bore, with nothing else beside the ball.

    acos(B / E) - asin(H / E): the bore leaves the ball at acos(B / E) from its middle plane. NaN where the dimensions
    give none.
    """
    if bore >= ball_diameter:
        return math.nan
    return _between(math.sqrt(1.0 - (bore / ball_diameter) ** 2), housing_width / ball_diameter)


def _between(high: float, low: float) -> float:
    """The angle between two heights above the ball's middle plane, as shares of its radius [deg]; NaN where none is."""
    if not 0.0 < low < high <= 1.0:
        return math.nan
    return math.degrees(math.asin(high) - math.asin(low))
