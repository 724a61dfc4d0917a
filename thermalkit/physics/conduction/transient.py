"""Conduction in time: step by step, or the exact answer to a sinusoidal swing.

One step is a trapezoidal stage followed by a second-order backward difference (TR-BDF2): second order in
time, and sudden changes die away instead of ringing. Both stages share one matrix.

Source
------
Bank, Coughran, Fichtner, Grosse, Rose & Smith (1985), IEEE Trans. Computer-Aided Design 4(4), 436-451.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import OutOfDomain
from thermalkit.language import say
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.conduction.field import Field
from thermalkit.physics.conduction.network import Films, Network
from thermalkit.physics.conduction.solver import Solver, complex_solution, solver
from thermalkit.physics.conduction.steady import Solution
from thermalkit.physics.domain import FloatArray, require_within

Course = ArrayLike | Callable[[float], float]
"""A quantity in time: a number, one value per time, or a function of the time in seconds."""

# With this share of the step in the first stage both stages have the same matrix.
_SHARE = 2.0 - np.sqrt(2.0)


def march(
    start: Field,
    times_s: ArrayLike,
    temperatures_degc: Mapping[str, Course] | None = None,
    *,
    heating: Course | None = None,
    films_m2k_w: Callable[[float], Films] | None = None,
) -> Iterator[Field]:
    """Fields at the given times, the first being `start` itself.

    Parameters
    ----------
    start : Field
        Where it begins, for instance `solution.at(...)`; what is not given below stays as it is there.
    times_s : array_like, shape (n,)
        Increasing. Equal steps share one factorisation.
    temperatures_degc : mapping, optional
        Course of environments by name; between times an array runs straight.
    heating : optional
        Course of the factor on the painted sources.
    films_m2k_w : callable, optional
        Surface resistances at a time, by environment; asked for at the end of every step and held during it.

    Yields
    ------
    Field
        One for each time.

    Raises
    ------
    IllPosed
        An unknown environment, a course of another length than `times_s`, or a material without heat
        capacity.
    OutOfDomain
        Times that do not increase.
    """
    times = require_within("times_s", times_s, -1e12, 1e12)
    if times.ndim != 1 or not np.all(np.diff(times) > 0.0):
        raise OutOfDomain(say("physics.increasing-times"))
    require_capacities(start.network)
    courses = _Courses(start, times, temperatures_degc or {}, heating)
    return _steps(start, times, courses, films_m2k_w)


def _steps(
    start: Field, times: FloatArray, courses: _Courses, films: Callable[[float], Films] | None
) -> Iterator[Field]:
    now, last_step, stage = start, 0.0, None
    yield now
    for before, after in pairwise(times):
        network = now.network.with_films(films(float(after))) if films else now.network
        changed = network is not now.network and np.any(network.film_m2k_w != now.network.film_m2k_w)
        now = replace(now, network=network) if changed else now
        if stage is None or changed or not np.isclose(after - before, last_step, rtol=1e-9):
            last_step = after - before
            stage = _Stage(now.network, last_step)
        now = stage.step(now, courses, before)
        yield now


class _Courses:
    """Environment temperatures and heating as functions of time."""

    def __init__(
        self, start: Field, times: FloatArray, temperatures: Mapping[str, Course], heating: Course | None
    ) -> None:
        for name in temperatures:
            start.network.environment_number(name)
        held = zip(start.network.environments, start.environments_degc, strict=True)
        self._environments = [_course(temperatures.get(name, value), times, name) for name, value in held]
        self._heating = _course(start.heating if heating is None else heating, times, "heating")

    def at(self, time_s: float) -> tuple[FloatArray, float]:
        return np.array([course(time_s) for course in self._environments]), self._heating(time_s)


def _course(course: Course, times: FloatArray, name: str) -> Callable[[float], float]:
    if callable(course):
        return course
    values = np.asarray(course, dtype=np.float64)
    if values.shape not in ((), times.shape):
        raise IllPosed(say("physics.course", name=name, count=times.size))
    steps = np.broadcast_to(values, times.shape)
    return lambda time_s: float(np.interp(time_s, times, steps))


class _Stage:
    """One step of a fixed length behind fixed films."""

    def __init__(self, network: Network, step_s: float) -> None:
        self._step_s = step_s
        self._storage_w_k = network.capacity_j_k / (0.5 * _SHARE * step_s)
        self._outward_w_k = network.outward_w_k()
        self._solve: Solver = solver(network, self._outward_w_k + self._storage_w_k)

    def step(self, now: Field, courses: _Courses, time_s: float) -> Field:
        network, storage, old = now.network, self._storage_w_k, now.solids_degc

        def supply(moment_s: float) -> tuple[FloatArray, float, FloatArray]:
            environments, heating = courses.at(moment_s)
            return environments, heating, network.inflow_w(environments) + heating * network.source_w

        _, _, first = supply(time_s)
        _, _, middle = supply(time_s + _SHARE * self._step_s)
        environments, heating, last = supply(time_s + self._step_s)
        leaving = network.inner_w_k @ old + self._outward_w_k * old
        between = self._solve(storage * old - leaving + first + middle)
        blend = (between - (1.0 - _SHARE) ** 2 * old) / (_SHARE * (2.0 - _SHARE))
        new = self._solve(storage * blend + last)
        return replace(now, solids_degc=new, environments_degc=environments, heating=heating)


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Answer of a body to one environment swinging by 1 K as a cosine, after all transients.

    `real` and `imaginary` parts are fields in K per K. A complex answer has the amplitude as its size and
    the lead in radians as its angle.
    """

    period_s: float
    real: Field
    imaginary: Field

    def surface_response(self, environment: str) -> NDArray[np.complex128]:
        """Complex answer of the faces that look at an environment, in the order of `Field.surface`."""
        real, imaginary = (f.surface(environment).temperature_degc for f in (self.real, self.imaginary))
        return real + 1j * imaginary

    def point_response(self, points_m: ArrayLike, within: str | None = None) -> NDArray[np.complex128]:
        """Complex answer at points; see `Field.temperature_degc`."""
        real, imaginary = (f.temperature_degc(points_m, within) for f in (self.real, self.imaginary))
        return real + 1j * imaginary

    def added_to(self, mean: Field, amplitude_k: float, since_peak_s: float) -> Field:
        """The field a time after the environment's warmest moment, about its mean.

        Parameters
        ----------
        mean : Field
            Steady field of the same body at mean temperatures, or one to which another swing was added.
        amplitude_k : float
            Half the range of the environment's temperature.
        since_peak_s : float
            Time since the environment was warmest.
        """
        angle = 2.0 * np.pi * since_peak_s / self.period_s
        cosine, sine = amplitude_k * np.cos(angle), amplitude_k * np.sin(angle)
        real, imaginary = self.real, self.imaginary
        environments = cosine * real.environments_degc - sine * imaginary.environments_degc
        return replace(
            mean,
            solids_degc=mean.solids_degc + cosine * real.solids_degc - sine * imaginary.solids_degc,
            environments_degc=mean.environments_degc + environments,
        )


def periodic_response(solution: Solution, environment: str, period_s: float) -> Swing:
    """Answer to a sinusoidal swing of one environment, the others and all sources at rest.

    Swings of several environments or periods add.

    Raises
    ------
    IllPosed
        An unknown environment, or a material without heat capacity.
    """
    network = solution.network
    require_within("period_s", period_s, 1.0, 1e12)
    require_capacities(network)
    unit = np.eye(len(network.environments))[network.environment_number(environment)]
    storage = 2.0 * np.pi / period_s * network.capacity_j_k
    answer = complex_solution(network, network.outward_w_k(), storage, network.inflow_w(unit))
    real, imaginary = (
        Field(network=network, solids_degc=part, environments_degc=values, heating=0.0)
        for part, values in ((answer.real, unit), (answer.imag, np.zeros_like(unit)))
    )
    return Swing(period_s=period_s, real=real, imaginary=imaginary)


def require_capacities(network: Network) -> None:
    """Refuse a body whose materials do not all have a heat capacity."""
    if np.isnan(network.capacity_j_k).any():
        raise IllPosed(say("physics.no-capacity"))
