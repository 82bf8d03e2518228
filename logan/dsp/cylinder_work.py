"""Work of each cylinder from the orders of crank speed squared, in percent of the mean.

Speed squared changes by twice the work over the inertia, so what a cylinder does more or less than the mean is known in
these units exactly, but for what the wheel feigns: once a turn by running out, a little in every tooth. The mean work
itself moves no steady crank (the load takes it at once). It is read from the shape of the firing orders, in which the
odd swing of compression and the one-sided push of the fire differ, with what engines of a kind have in common; from how
fast engines stop without fuel; and, where the record holds one, from a run-down of this engine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import gas_torque
from logan.dsp.order import orders

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

USUAL_TOOTH_DEG: Final = 0.03
"""Standard deviation of single teeth about their place on a usual wheel (0.02 to 0.1 over all; from memory)."""
UNSEEN_TOOTH_DEG: Final = 0.05
"""The same where the record hardly shows it: what one order would have to show to outweigh it."""
RUNOUT_GRID: Final = ((1e-4, 0.3), (3e-4, 0.3), (1e-3, 0.25), (3e-3, 0.1), (1e-2, 0.05))
"""Once-a-turn ripple of the speed that a wheel feigns, standard deviation and prior share; 0.1 mm at 80 mm is 1e-3."""
STRAIGHTENED: Final = ((1e-2, 1.0),)
"""After an eccentric wheel has been put right: its order says nothing of the cylinders any more."""
TOOTH_ORDERS: Final = (0.2, 0.42)
"""Orders that show misplaced teeth, from and to, in the places of the wheel; above, the spline weakens them."""
GAS_ORDERS: Final = 1.2
"""Order over the number of cylinders up to which uneven work reaches far more than teeth (judgement)."""
FEW_ORDERS: Final = 1.3
"""Factor on the error of teeth: few orders show it, and the spline weakens them a little."""
SPREAD_GRID: Final = (0.015, 0.05, 0.15, 0.4)
"""Standard deviation of the cylinders' work about their mean, as a share of it."""
WEAK: Final = (0.5, -0.35, 0.3)
"""One cylinder stands apart: how likely, and by how much of the mean work (mean, standard deviation; judgement)."""
PAIR: Final = 0.1
"""How likely two that fire 360 degrees apart are both weak: only whole orders show it, which the wheel feigns too."""
SHAPE_ERROR: Final = 0.05
"""How far the pulse of an engine's work is off the usual one at each order, as a share of it."""
LEARNT_SIZE: Final = 0.15
"""Share of the mean work that cylinders firing 360 degrees apart may both lack, where no half order shows it."""
TWIST_GRID: Final = ((0.0005, 0.2), (0.0015, 0.3), (0.005, 0.3), (0.015, 0.2))
"""How far the crank's sensor end is twisted at the strongest order, standard deviation of both parts, deg, and prior
share: 20 to 100 Nm of a harmonic of gas torque over 2e5 to 1e6 Nm/rad (derived; stiffness from memory)."""
YIELDS_S2: Final = 4e-6
"""Twist of the sensor's end for a torque at one end of the row less that for one at the other, over what the torque
does to the rigid crank in a radian squared per s2; standard deviation about none: a first mode of 150 to 400 Hz moves
the front by 3 to 4 over its square, the flywheel by a third of it and the other way (derived; range from memory)."""
TIGHT: Final = 0.007
"""How much good cylinders differ in compression, standard deviation as a share of it."""
LEAKS: Final = (0.25, 0.2, 0.15)
"""A cylinder that stands apart leaks too: how likely, and what share of its compression (mean, sd; judgement)."""
LEAST_RIPPLE: Final = 1e-6
"""Share of speed squared below which nothing is told apart: an even train of pulses from a test bench has no more."""
FIRING_STARTS_DEG: Final = (-4.0, 2.0, 8.0)


class Kind(NamedTuple):
    """What engines of a kind have in common: value and standard deviation of each (judgement, wide)."""

    work: tuple[float, float]  # log of mean effective pressure over intake pressure at idle
    ratio: tuple[float, float]
    start_deg: tuple[float, float]
    burn_deg: tuple[float, float]
    crankcase: float  # pressure over intake pressure


KINDS: Final = {
    "compression": Kind((0.5, 0.4), (17.0, 1.2), (0.0, 4.0), (50.0, 12.0), 1.0),
    "spark": Kind((1.4, 0.4), (10.2, 0.8), (-5.0, 6.0), (55.0, 12.0), 2.9),
}
MOVING: Final = (-5.3, 0.6)
"""Log of a piston's mass times crank radius squared over the engine's inertia: 0.002 to 0.01."""
STOPS_WITHIN_S: Final = (1.1, 0.4)
"""Idle speed over its fall per second without fuel, s, and its relative spread (common practice, no source)."""
RUN_DOWN: Final = {"compression": (1.05, 0.12), "spark": (1.0, 0.25)}
"""Load at idle over that of a run-down, which is slower and breathes otherwise: factor, relative uncertainty."""
REFERENCE_SD_DEG: Final = 0.3
"""How well the profile's angle of the wheel fits an engine (sensor mounting: up to about 1 degree, from memory)."""


@dataclass(frozen=True, slots=True)
class Level:
    """Mean work of a firing as twice the work over the inertia, rad2/s2, and its relative standard uncertainty."""

    square: float
    relative: float


def tooth_error(speed_rad_s: float, order: Array, tooth_deg: float, teeth: int) -> Array:
    """Standard deviation that misplaced teeth give to real and imaginary part of an order of speed squared, rad2/s2."""
    out: Array = 2.0 * speed_rad_s**2 * order * np.radians(tooth_deg) * np.sqrt(2.0 / teeth)
    return out


def tooth_deg(ripple: Array, cylinders: int, speed_rad_s: float, teeth: int) -> float:
    """How far single teeth stand off their place, deg, from whole orders too high for the gas to make.

    Parameters
    ----------
    ripple : (n,) mean speed squared over a cycle, rad2/s2
    teeth : places on the wheel
    """
    highest = min(int(TOOTH_ORDERS[1] * teeth), len(ripple) // 4 - 1)  # more orders no ripple of so few samples has
    order = np.arange(int(TOOTH_ORDERS[0] * teeth), highest + 1)
    order = order[(order >= GAS_ORDERS * cylinders) & (2 * order % cylinders != 0)]
    shown = 0.0
    if len(order):
        seen = orders(ripple, int(2 * order[-1]))[2 * order - 1]
        shown = float(np.sum(np.abs(seen / tooth_error(speed_rad_s, order.astype(float), 1.0, teeth)) ** 2))
    # each order shows two parts; what is known beforehand counts as one order
    return FEW_ORDERS * float(np.sqrt((2.0 * UNSEEN_TOOTH_DEG**2 + shown) / (2.0 * (1 + len(order)))))


def mean_level(firing: Complex, cylinders: int, speed_rad_s: float, ignition: str, error: Array) -> Level:
    """Mean work from the orders of firing: 1, 2, 3 ... times half the number of cylinders.

    Parameters
    ----------
    firing : (k,) complex amplitudes of speed squared at those orders, rad2/s2
    error : (k,) standard deviation of their real and imaginary parts
    """
    kind = KINDS[ignition]
    half_orders = cylinders * np.arange(1, len(firing) + 1)
    torque = firing * 0.5j * half_orders / cylinders
    size = np.hypot(0.04 * np.abs(torque) + 0.02 * np.abs(torque[0]), error * 0.5 * half_orders / cylinders)
    size += LEAST_RIPPLE * speed_rad_s**2
    middle = np.array([0.0, kind.work[0], kind.ratio[0], kind.start_deg[0], kind.burn_deg[0], MOVING[0], 0.0])
    sd = np.array([3.0, kind.work[1], kind.ratio[1], kind.start_deg[1], kind.burn_deg[1], MOVING[1], REFERENCE_SD_DEG])
    middle[0] = np.log(2.0 * np.pi * np.abs(torque[0]) + LEAST_RIPPLE * speed_rad_s**2)

    def residual(z: Array) -> Array:
        log_work, log_share, ratio, start, burn, log_mass, shift = middle + sd * z
        # mass of moving parts over the inertia; work and compression in rad2/s2
        parts = gas_torque.shapes(max(ratio, 5.0), start, max(burn, 15.0), crankcase=kind.crankcase)
        work = np.exp(log_work)
        sum_of = (
            work * np.exp(-log_share) * gas_torque.harmonics(parts.compression, half_orders)
            + work * gas_torque.harmonics(parts.combustion, half_orders)
            + 2.0 * np.exp(log_mass) * speed_rad_s**2 * gas_torque.harmonics(parts.inertia, half_orders)
        )
        off = (sum_of * np.exp(0.5j * half_orders * np.radians(shift)) - torque) / size
        return np.concatenate([off.real, off.imag, z])

    fit = scipy.optimize.least_squares(residual, np.zeros(len(middle)), x_scale=1.0, max_nfev=60)
    slope = np.asarray(fit.jac)
    covariance = np.linalg.inv(slope.T @ slope)
    misfit = max(1.0, 2.0 * float(fit.cost) / (2.0 * len(firing)))
    relative = sd[0] * float(np.sqrt(covariance[0, 0] * misfit))
    shape = Level(float(np.exp(middle[0] + sd[0] * fit.x[0])), float(relative))
    stops_s, spread = STOPS_WITHIN_S
    return _joined(shape, Level(2.0 * speed_rad_s / stops_s * 4.0 * np.pi / cylinders, spread))


def _joined(a: Level, b: Level) -> Level:
    """Mean of two independent levels, weighted in their logarithms."""
    share = a.relative**2 / (a.relative**2 + b.relative**2)
    return Level(a.square ** (1.0 - share) * b.square**share, b.relative * float(np.sqrt(share)))


def refine(level: Level, fall: Array, cylinders: int, ignition: str) -> Level:
    """Mean work from the shape of the firing orders together with what run-downs show of the load.

    Parameters
    ----------
    fall : (k,) fall of speed squared per radian in each run-down, rad/s2
    """
    if not len(fall):
        return level
    factor, relative = RUN_DOWN[ignition]
    return _joined(level, Level(factor * float(np.median(fall)) * 4.0 * np.pi / cylinders, relative))


@dataclass(frozen=True, slots=True)
class Balance:
    """What each firing position does beyond the mean, as twice the work over the inertia.

    Parameters
    ----------
    beyond : (z,) rad2/s2, sum 0
    covariance : (z, z) of ``beyond``: noise, wheel and what could not be seen
    each : (c, z) the same from each cycle
    runout : once-a-turn ripple that the wheel feigns, complex amplitude as a share of speed
    leak : (z,) how much less each position compresses than the mean, as a share of it
    """

    beyond: Array
    covariance: Array
    each: Array
    runout: complex
    leak: Array


def balance(
    spectrum: Complex,
    cylinders: int,
    speed_rad_s: float,
    level: float,
    ignition: str,
    error: Array,
    place: NDArray[np.int64],
    runouts: tuple[tuple[float, float], ...] = RUNOUT_GRID,
    kept: Array | None = None,
    doubt: Array | None = None,
) -> Balance:
    """Each firing position's work by a linear Gaussian inversion, averaged over what is not known of wheel and engine.

    Parameters
    ----------
    spectrum : (c, h) half orders 1..h (order 0.5, 1, ...) of speed squared of each cycle, rad2/s2
    level : mean work of a firing, rad2/s2; sets how much cylinders usually differ
    error : (h,) what misplaced teeth give to whole orders, standard deviation of real and imaginary part
    place : (z,) number along the crank of the cylinder at each firing position
    runouts : what once-a-turn ripple the wheel may feign, standard deviation and prior share
    kept : (h,) share of each order that learning the teeth has left
    doubt : (h,) what that share leaves open, standard deviation, rad2/s2
    """
    z = cylinders
    half_orders = np.arange(1, spectrum.shape[1] + 1)
    used = half_orders[half_orders % z != 0]
    data = spectrum[:, used - 1]
    mean = data.mean(axis=0)
    noise = np.sqrt(np.mean(np.abs(data - mean) ** 2, axis=0) / 2.0 / max(len(data) - 1, 1))
    own = np.ones(len(used)) if kept is None else kept[used - 1]
    shape = _pulse(used, ignition) * own
    turn = np.exp(-0.5j * used[:, None] * np.radians(720.0 / z) * np.arange(z))
    swing = level * _compression(used, ignition) * own
    # even cylinders twist the crank unevenly, each at its own place along it: what the gas does, rated once more
    uneven = turn @ (place - place.mean()) / np.ptp(place)
    yields = speed_rad_s**2 * YIELDS_S2 * (0.5j * used) ** 2 * (level * shape.mean(axis=0) - swing) * uneven
    usual = np.hstack([shape.mean(axis=0)[:, None] * turn, swing[:, None] * turn, yields[:, None]])
    a = _stack(usual)
    y = np.concatenate([mean.real, mean.imag])
    size = np.abs(mean[0] / shape.mean(axis=0)[0])
    base = noise**2 + (SHAPE_ERROR * np.abs(shape.mean(axis=0)) * size) ** 2 + (LEAST_RIPPLE * speed_rad_s**2) ** 2
    if doubt is not None:
        base += doubt[used - 1] ** 2
    # the wheel's teeth pass twice a cycle: they feign whole orders only
    base += np.where(used % 2 == 0, error[used - 1], 0.0) ** 2
    torque = np.abs(swing * used) / np.max(np.abs(swing * used))  # what twists the crank falls off as the gas torque
    angle = (2.0 * speed_rad_s**2) ** 2 * np.array([(np.radians(0.5 * used) * torque) ** 2, used == 2])
    wheels = [
        (float(np.log(share * seldom)), base + angle.T @ (twist**2, runout**2))
        for twist, share in TWIST_GRID
        for runout, seldom in runouts
    ]
    found = _average(a, y, wheels, *_priors(z, level))
    beyond, covariance, gain = found.mean[:z], found.covariance[:z, :z], found.gain[:z]
    for variant in shape:
        moved = gain @ _stack((variant - shape.mean(axis=0))[:, None] * turn) @ beyond
        covariance = covariance + np.outer(moved, moved) / len(shape)
    each = beyond + (np.hstack([data.real, data.imag]) - y) @ gain.T
    left = (mean - usual @ found.mean)[used == 2]
    return Balance(beyond, covariance, each, complex(left.sum() / (2.0 * speed_rad_s**2)), found.mean[z : 2 * z])


class _Found(NamedTuple):
    """Work and leak of each position, (2z,), their covariance and how they follow from the data."""

    mean: Array
    covariance: Array
    gain: Array


def _average(
    a: Array, y: Array, wheels: list[tuple[float, Array]], log_share: Array, middle: Array, prior: Array
) -> _Found:
    """Posterior of a linear Gaussian model, averaged over what is not known of wheel and engine by the evidence.

    Parameters
    ----------
    a : (2h, u) real and imaginary parts of the orders for each unknown
    y : (2h,) what was seen
    wheels : log of the prior share and variance of each order, (h,)
    log_share, middle, prior : (p,), (p, u) and (p, u, u), log of the prior share, mean and covariance of the unknowns
    """
    log_odds, means, gains, covariances = [], [], [], []
    for share, variance in wheels:
        r = np.concatenate([variance, variance])
        weighed = a.T / r
        inner = np.eye(a.shape[1]) + prior @ (weighed @ a)
        covariance = np.linalg.solve(inner, prior)
        off = y - middle @ a.T
        pull = off @ weighed.T
        step = np.einsum("pij,pj->pi", covariance, pull)
        misfit = np.sum(off**2 / r, axis=1) - np.sum(pull * step, axis=1)
        evidence = -0.5 * (np.log(r).sum() + np.linalg.slogdet(inner)[1] + misfit)
        log_odds.append(share + log_share + evidence)
        means.append(middle + step)
        gains.append(weighed)
        covariances.append(covariance)
    weight = np.exp(np.array(log_odds) - np.max(log_odds))
    weight /= weight.sum()
    mean = np.einsum("wp,wpi->i", weight, means)
    off = np.array(means) - mean
    within = np.einsum("wp,wpij->wij", weight, covariances)
    covariance = within.sum(axis=0) + np.einsum("wp,wpi,wpj->ij", weight, off, off)
    return _Found(mean, covariance, np.einsum("wij,wjk->ik", within, gains))


def _priors(z: int, level: float) -> tuple[Array, Array, Array]:
    """What may be before anything is seen: log of the share, mean and covariance of work, leak and uneven twist."""
    centre = np.eye(z) - 1.0 / z
    share, by, spread = WEAK
    log_share, middle, prior = [], [], []
    leaks, lost, lost_spread = LEAKS
    one = [(share * part / z, apart, leak) for part, leak in ((1.0 - leaks, 0.0), (leaks, 1.0)) for apart in centre]
    two = [(PAIR / (z // 2), centre[k] + centre[k + z // 2], 0.0) for k in range(z // 2) if z % 2 == 0]
    for s in SPREAD_GRID:
        for here, apart, leak in [(1.0 - share - PAIR, np.zeros(z), 0.0), *one, *two]:
            work = (s * level) ** 2 * centre + (spread * level) ** 2 * np.outer(apart, apart)
            tight = TIGHT**2 * centre + leak * lost_spread**2 * np.outer(apart, apart)
            log_share.append(float(np.log(here)))
            middle.append(np.concatenate([by * level * apart, leak * lost * apart, [0.0]]))
            prior.append(scipy.linalg.block_diag(work, tight, np.eye(1)))
    return np.array(log_share), np.array(middle), np.array(prior)


def usual_size(half_orders: NDArray[np.int64], first: complex, level: float, ignition: str) -> Array:
    """What uneven cylinders may do at each half order, (h,) rad2/s2, judged by order 0.5, which no tooth feigns."""
    shape = np.abs(_pulse(half_orders, ignition).mean(axis=0))
    out: Array = shape * max(abs(first) / shape[0], LEARNT_SIZE * level)
    return out


def interval_share(cylinders: int, ignition: str) -> float:
    """Share of a cylinder's work of burning that falls into its own firing interval."""
    torque = gas_torque.shapes(KINDS[ignition].ratio[0], KINDS[ignition].start_deg[0], KINDS[ignition].burn_deg[0])
    inside = np.abs(gas_torque.ANGLE_DEG - 360.0 / cylinders) < 360.0 / cylinders
    return float(torque.combustion[inside].sum() / torque.combustion.sum())


def compression_work(ignition: str) -> float:
    """Work that a cylinder's compression takes before top dead centre and gives back after it, in the mean work."""
    kind = KINDS[ignition]
    torque = gas_torque.shapes(kind.ratio[0], kind.start_deg[0], kind.burn_deg[0], crankcase=kind.crankcase).compression
    after = (gas_torque.ANGLE_DEG > 0.0) & (gas_torque.ANGLE_DEG < gas_torque.EXHAUST_OPENS_DEG)
    return float(
        np.exp(-kind.work[0]) * np.radians(gas_torque.ANGLE_DEG[1] - gas_torque.ANGLE_DEG[0]) * torque[after].sum()
    )


def _pulse(half_orders: NDArray[np.int64], ignition: str) -> Complex:
    """Half orders of speed squared that work of 1 rad2/s2 makes, for early, usual and late fires, (3, h)."""
    kind = KINDS[ignition]
    return np.array(
        [
            gas_torque.harmonics(
                gas_torque.shapes(kind.ratio[0], kind.start_deg[0] + late, kind.burn_deg[0]).combustion, half_orders
            )
            / (0.5j * half_orders)
            for late in FIRING_STARTS_DEG
        ]
    )


def _compression(half_orders: NDArray[np.int64], ignition: str) -> Complex:
    """Half orders of speed squared that a cylinder's lack of all compression makes, in units of the mean work, (h,)."""
    kind = KINDS[ignition]
    torque = gas_torque.shapes(kind.ratio[0], kind.start_deg[0], kind.burn_deg[0], crankcase=kind.crankcase).compression
    return -float(np.exp(-kind.work[0])) * gas_torque.harmonics(torque, half_orders) / (0.5j * half_orders)


def _stack(m: Complex) -> Array:
    return np.vstack([m.real, m.imag])
