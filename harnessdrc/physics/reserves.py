"""By how much the resistance of one joint may rise until an offset crosses its limit, in closed form.

When the resistance of joint j rises by d, its current i falls to ``i / (1 + d / loop)``, where `loop` is the
resistance of the joint and of all that the network shows beside it. What the rise does to an offset y is that
of a source of ``d x`` current in the joint, so that with the slope h at the start (V/Ω)

``y(d) = y0 + h d / (1 + d / loop)``, ``y(inf) = y0 + h loop``.

This is exact (a change of rank one), for one joint at a time and while the loads keep their currents. Where
the joint is the only way, `loop` is infinite and the offset rises in a straight line. The limit L is crossed
at ``d = room / (|h| - room / loop)`` with ``room = L - y0`` toward that limit to which the slope points.

Source: physics of the rank-one update (Sherman and Morrison, Annals of Mathematical Statistics 21, 1950);
the offset moves one way only as d rises, so the other limit is never crossed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["LEAST_SLOPE_V_PER_OHM", "current_with_rise_a", "offset_with_rise_v", "rise_to_limit_ohm"]

Floats = NDArray[np.float64]

LEAST_SLOPE_V_PER_OHM = 1e-6
"""A slope below this is taken as none: rounding would make answers of 1e13 Ω of it."""

_SHORTED = 1e300  # conductance that stands for a loop without resistance
_BLOCK = 1 << 16  # values worked on together


def rise_to_limit_ohm(
    offset_v: ArrayLike, slope_v_per_ohm: ArrayLike, loop_ohm: ArrayLike, limit_v: ArrayLike
) -> Floats:
    """Rise of one joint's resistance at which the offset reaches plus or minus its limit, Ω.

    Parameters
    ----------
    offset_v : array
        Offset as built, V.
    slope_v_per_ohm : array
        Change of the offset with the joint's resistance as built: the joint's current times its current per
        ampere through the pair (`Network.unit_currents`), V/Ω.
    loop_ohm : array
        Resistance of the joint and of what lies beside it, Ω; ``inf`` for a bridge.
    limit_v : array
        Limit of the offset's size, V.

    Returns
    -------
    ndarray
        Of the shape to which the arguments broadcast: 0 where the offset is at the limit or over it as
        built, ``inf`` where not even the open joint reaches it. nan where it hangs on an argument that is nan.
    """
    offset, slope = np.asarray(offset_v, dtype=np.float64), np.asarray(slope_v_per_ohm, dtype=np.float64)
    loop, limit = np.asarray(loop_ohm, dtype=np.float64), np.asarray(limit_v, dtype=np.float64)
    with np.errstate(divide="ignore"):
        per_loop = np.minimum(1.0 / loop, _SHORTED)
    # both are of one value for many joints, and so worked out before they are spread over all
    over = np.abs(offset) >= limit
    endless = np.isinf(limit)
    shape = np.broadcast_shapes(offset.shape, slope.shape, loop.shape, limit.shape)
    given = [np.atleast_1d(part) for part in (offset, slope, per_loop, limit, over)]
    rise = np.empty(shape or 1)
    if rise.size <= _BLOCK:
        _rise(rise, *given)
    else:  # in pieces that stay in the processor's cache
        axis = int(np.argmax(rise.shape))
        whole = np.moveaxis(rise, axis, 0)
        parts = [np.moveaxis(np.broadcast_to(part, shape), axis, 0) for part in given]
        step = max(1, _BLOCK * len(whole) // rise.size)
        for begin in range(0, len(whole), step):
            piece = slice(begin, begin + step)
            _rise(whole[piece], *(part[piece] for part in parts))
    if endless.any():
        rise[np.broadcast_to(endless, rise.shape)] = np.inf
    return rise.reshape(shape)


def _rise(
    rise: Floats, offset: Floats, slope: Floats, per_loop: Floats, limit: Floats, over: NDArray[np.bool_]
) -> None:
    """Fill in the rise; what never crosses is divided by nothing."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        room = np.copysign(limit, slope, out=rise)
        room -= offset
        np.abs(room, out=room)  # toward the limit that the slope points to; of either sign only where over
        left = np.abs(slope)
        slight = left < LEAST_SLOPE_V_PER_OHM
        left -= room * per_loop  # of the slope, when the limit is reached
        np.maximum(left, 0.0, out=left)
        np.copyto(left, 0.0, where=slight)
        rise /= left
    np.copyto(rise, 0.0, where=over)


def offset_with_rise_v(
    offset_v: ArrayLike, slope_v_per_ohm: ArrayLike, loop_ohm: ArrayLike, rise_ohm: ArrayLike
) -> Floats:
    """Offset when the resistance of one joint has risen, V.

    Parameters
    ----------
    offset_v, slope_v_per_ohm, loop_ohm : array
        As for `rise_to_limit_ohm`.
    rise_ohm : array
        Rise of the joint's resistance, Ω; ``inf`` for the open joint.

    Returns
    -------
    ndarray
        Of the shape to which the arguments broadcast; of infinite size where the only way of a current is
        opened.
    """
    slope = np.asarray(slope_v_per_ohm, dtype=np.float64)
    offset = np.asarray(offset_v, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        change = slope * _in_parallel(loop_ohm, rise_ohm)
    return np.asarray(offset + np.where(slope == 0.0, 0.0, change), dtype=np.float64)


def current_with_rise_a(current_a: ArrayLike, loop_ohm: ArrayLike, rise_ohm: ArrayLike) -> Floats:
    """Current of a joint whose resistance has risen, A.

    Parameters
    ----------
    current_a : array
        Current as built, A.
    loop_ohm, rise_ohm : array
        As for `offset_with_rise_v`.

    Returns
    -------
    ndarray
        Of the shape to which the arguments broadcast. A bridge keeps its current, since the loads keep
        theirs; it is nan where a bridge is opened that carries one.
    """
    current = np.asarray(current_a, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        left = 1.0 / (1.0 + np.asarray(rise_ohm, dtype=np.float64) / np.asarray(loop_ohm, dtype=np.float64))
        return np.asarray(np.where(current == 0.0, 0.0, current * left), dtype=np.float64)


def _in_parallel(loop_ohm: ArrayLike, rise_ohm: ArrayLike) -> Floats:
    """``rise / (1 + rise / loop)``, for an infinite rise or loop too."""
    loop, rise = np.asarray(loop_ohm, dtype=np.float64), np.asarray(rise_ohm, dtype=np.float64)
    low, high = np.minimum(loop, rise), np.maximum(loop, rise)
    with np.errstate(divide="ignore", invalid="ignore"):
        both = np.where(high == 0.0, 0.0, low / (1.0 + low / high))
    return np.asarray(np.where(np.isinf(low), np.inf, both), dtype=np.float64)
