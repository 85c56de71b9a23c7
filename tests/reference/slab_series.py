"""Textbook solutions of heat conduction in a slab of constant properties, summed by mpmath.

Half thickness l, place X = x/l from -1 at one face to 1 at the other, Fourier number Fo = a t/l^2. All re-derived.
"""

import mpmath

TERMS = 60


def share_left_between_held_faces(place: float, fourier: float) -> float:
    """(T - Ts)/(Ti - Ts) = sum 4 (-1)^n/((2n+1) pi) cos((2n+1) pi X/2) exp(-(2n+1)^2 pi^2 Fo/4)."""
    return float(
        sum(
            4 * (-1) ** n / (odd * mpmath.pi) * mpmath.cos(odd * mpmath.pi * place / 2) * _fading(odd, fourier)
            for n, odd in enumerate(range(1, 2 * TERMS, 2))
        )
    )


def mean_share_left_between_held_faces(fourier: float) -> float:
    """Its mean: sum 8/((2n+1)^2 pi^2) exp(-(2n+1)^2 pi^2 Fo/4)."""
    return float(sum(8 / (odd * mpmath.pi) ** 2 * _fading(odd, fourier) for odd in range(1, 2 * TERMS, 2)))


def _fading(odd: int, fourier: float):
    return mpmath.exp(-((odd * mpmath.pi / 2) ** 2) * fourier)


def rise_under_constant_flux(place: float, fourier: float) -> float:
    """(T - Ti) k/(q l) = Fo + (3 X^2 - 1)/6 - 2/pi^2 sum (-1)^n/n^2 exp(-n^2 pi^2 Fo) cos(n pi X); its mean is Fo."""
    wave = lambda n: mpmath.exp(-((n * mpmath.pi) ** 2) * fourier) * mpmath.cos(n * mpmath.pi * place)  # noqa: E731
    waves = sum((-1) ** n / mpmath.mpf(n) ** 2 * wave(n) for n in range(1, TERMS))
    return float(fourier + (3 * place**2 - 1) / mpmath.mpf(6) - 2 / mpmath.pi**2 * waves)


class Films:
    """Equal films on both faces, Bi = h l/k: roots of z tan z = Bi, C = 4 sin z/(2 z + sin 2 z)."""

    def __init__(self, biot: float) -> None:
        self.roots = [
            mpmath.findroot(
                lambda z: z * mpmath.sin(z) - biot * mpmath.cos(z),
                (n * mpmath.pi + 1e-9, n * mpmath.pi + mpmath.pi / 2),
                solver="anderson",
            )
            for n in range(20)
        ]

    def _terms(self, fourier: float):
        for z in self.roots:
            yield z, 4 * mpmath.sin(z) / (2 * z + mpmath.sin(2 * z)) * mpmath.exp(-(z**2) * fourier)

    def share_left(self, place: float, fourier: float) -> float:
        return float(sum(term * mpmath.cos(z * place) for z, term in self._terms(fourier)))

    def mean_share_left(self, fourier: float) -> float:
        return float(sum(term * mpmath.sin(z) / z for z, term in self._terms(fourier)))
