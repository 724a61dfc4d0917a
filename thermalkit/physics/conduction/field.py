"""Temperatures of a body at one moment, and what is read from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.language import say
from thermalkit.physics.conduction import interpolation
from thermalkit.physics.conduction.body import Material
from thermalkit.physics.conduction.errors import IllPosed
from thermalkit.physics.conduction.network import IntArray, Network
from thermalkit.physics.domain import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """What faces one environment, face by face.

    `centres_m` has shape (faces, axes), everything else (faces,). `normal_axis` and `normal_sign` say where
    a face looks. Heat flux is positive into the body.
    """

    centres_m: FloatArray
    area_m2: FloatArray
    normal_axis: IntArray
    normal_sign: IntArray
    film_m2k_w: FloatArray
    temperature_degc: FloatArray
    heat_flux_w_m2: FloatArray


class Lowest(NamedTuple):
    """The coldest place of a surface."""

    temperature_degc: float
    point_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Temperatures of all solid cells and all environments at one moment.

    Heat flows are in W in three dimensions, per metre of depth in two, per square metre in one.
    """

    network: Network
    solids_degc: FloatArray
    environments_degc: FloatArray
    heating: float = 1.0

    @property
    def cells_degc(self) -> FloatArray:
        """Cell temperatures on the grid; NaN where there is no solid."""
        return np.where(self.network.number >= 0, self.solids_degc[self.network.number], np.nan)

    def surface(self, environment: str) -> Surface:
        """Faces that look at an environment, with temperature and heat flux."""
        network, faces = self.network, self.network.faces
        chosen = faces.environment == network.environment_number(environment)
        drop = self.environments_degc[faces.environment] - self.solids_degc[faces.cell]
        flux = drop / (faces.half_cell_m2k_w + network.film_m2k_w)
        return Surface(
            centres_m=faces.centres_m[chosen],
            area_m2=faces.area_m2[chosen],
            normal_axis=faces.axis[chosen],
            normal_sign=2 * faces.side[chosen] - 1,
            film_m2k_w=network.film_m2k_w[chosen],
            temperature_degc=self._faces()[chosen],
            heat_flux_w_m2=flux[chosen],
        )

    def _faces(self) -> FloatArray:
        """Surface temperature of every boundary face."""
        faces, film = self.network.faces, self.network.film_m2k_w
        environment = self.environments_degc[faces.environment]
        return environment + (self.solids_degc[faces.cell] - environment) * film / (
            film + faces.half_cell_m2k_w
        )

    def heat_flow_w(self, environment: str) -> float:
        """Heat flow from an environment into the body."""
        surface = self.surface(environment)
        return float(np.sum(surface.area_m2 * surface.heat_flux_w_m2))

    def imbalance(self) -> float:
        """Sum of all heat flows over half the sum of their sizes; zero for an exact steady field.

        Source
        ------
        ISO 10211, criterion on the sum of heat flows (from memory): below 1e-4.
        """
        flows = [self.heat_flow_w(name) for name in self.network.environments]
        flows.append(self.heating * float(self.network.source_w.sum()))
        size = 0.5 * float(np.sum(np.abs(flows)))
        return abs(float(np.sum(flows))) / size if size else 0.0

    def lowest_surface(self, environment: str) -> Lowest:
        """Coldest place that faces an environment, edges and corners included."""
        points = interpolation.vertices_m(self.network, self.network.environment_number(environment))
        values = self.temperature_degc(points)
        coldest = int(np.argmin(values))
        return Lowest(float(values[coldest]), points[coldest])

    def temperature_degc(self, points_m: ArrayLike, within: str | None = None) -> FloatArray:
        """Temperature at points.

        Parameters
        ----------
        points_m : array_like, shape (..., axes)
        within : str, optional
            A material, to look from inside it at an interface; or an environment, for points on the
            surfaces that face it.

        Returns
        -------
        ndarray, shape (...)
            NaN where nothing of that name lies.

        Raises
        ------
        IllPosed
            No such material or environment, or points with another number of coordinates than the body.
        """
        points = np.asarray(points_m, dtype=np.float64)
        axes = len(self.network.edges_m)
        if points.shape[-1:] != (axes,):
            raise IllPosed(say("physics.coordinates", count=axes))
        flat = points.reshape(-1, axes)
        environments = self.network.environments
        material = None if within in environments else within
        self._require_material(material)
        values = interpolation.inside(self.network, self.solids_degc, self._faces(), flat, material)
        if within in environments:
            values[~interpolation.touches(self.network, flat, environments.index(within))] = np.nan
        return values.reshape(points.shape[:-1])

    def _require_material(self, name: str | None) -> None:
        names = {f.name for f in self.network.fillings if isinstance(f, Material)}
        if name is not None and name not in names:
            known = ", ".join(sorted(names | set(self.network.environments)))
            raise IllPosed(say("physics.no-such-part", name=repr(name), known=known))

    def temperature_factor(self, inside: str, outside: str) -> FloatArray:
        """f_Rsi of every face that looks at `inside`, shape (faces,)."""
        inner, outer = (
            float(self.environments_degc[self.network.environment_number(n)]) for n in (inside, outside)
        )
        return (self.surface(inside).temperature_degc - outer) / (inner - outer)
