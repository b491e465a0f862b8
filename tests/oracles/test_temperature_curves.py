"""Response curves against durations that follow from published parameters, and against the equations as printed."""

from __future__ import annotations

import numpy as np
import pytest

from outpace.biology.enzyme_response import sharpe_schoolfield
from outpace.biology.temperature_curves import briere1, briere2, gaussian, lactin1, lactin2, logan6
from outpace.biology.temperature_response import linear


def test_linear_rate_of_the_cotton_aphid() -> None:
    # Source: Zamani et al. 2006, rate = -0.0638 + 0.0103 T; abstract read, days derived by hand.
    rate = linear([20.0, 25.0], lower_threshold=0.0638 / 0.0103, thermal_constant=1 / 0.0103)
    assert 1 / rate == pytest.approx([7.03, 5.16], abs=0.005)


def test_lactin2_of_the_cotton_aphid() -> None:
    # Source: Zamani et al. 2006: a .009, Tm 35.299, Δ .201, b -1.049; abstract read, days derived.
    days = 1 / lactin2([10.0, 15.0, 20.0, 25.0, 30.0], 0.009, 35.299, 0.201, -1.049)
    assert days == pytest.approx([22.1, 10.5, 6.75, 4.92, 3.83], rel=0.005)


def test_bell_curves_of_two_aphids() -> None:
    # Source: Taylor 1981 via another source (read): M. persicae .155, 26.3, 10.4; M. euphorbiae .14, 30.6, 14.6.
    # Days derived.
    degrees = [10.0, 15.0, 20.0, 25.0, 30.0]
    assert 1 / gaussian(degrees, 0.155, 26.3, 10.4) == pytest.approx([22.0, 11.6, 7.8, 6.5, 6.9], abs=0.06)
    assert 1 / gaussian(degrees, 0.14, 30.6, 14.6) == pytest.approx([19.3, 12.6, 9.3, 7.7, 7.1], abs=0.06)


def test_logan6_of_the_pea_aphid() -> None:
    # Source: Lactin et al. 1995: ψ .037578, ρ .154748, Tm 31.412453, Δ 5.784563; read, days derived.
    days = 1 / logan6([15.0, 20.0, 25.0, 28.0], 0.037578, 0.154748, 31.412453, 5.784563)
    assert days == pytest.approx([10.15, 6.45, 5.07, 5.82], abs=0.006)


def test_lactin2_of_the_pea_aphid() -> None:
    # Source: Lactin et al. 1995: ρ .158712, Tm 31.60617, Δ 6.278001, λ -.003533; read, days derived.
    days = 1 / lactin2([15.0, 20.0, 25.0, 28.0], 0.158712, 31.60617, 6.278001, -0.003533)
    assert days == pytest.approx([10.09, 6.44, 5.08, 5.79], abs=0.006)


def test_lactin1_of_the_pea_aphid_tells_the_same_as_its_sisters() -> None:
    # Source: Lactin et al. 1995: ρ .163142, Tm 31.419509, Δ 6.1101, fitted to the same trial; read. Three fits to
    # one trial must agree inside it to a few per cent.
    degrees = np.array([15.0, 20.0, 25.0])
    first = lactin1(degrees, 0.163142, 31.419509, 6.1101)
    second = lactin2(degrees, 0.158712, 31.60617, 6.278001, -0.003533)
    assert first == pytest.approx(second, rel=0.03)


def test_briere_curves_are_the_printed_products() -> None:
    # Source: Brière et al. 1999, the two equations; recalled. Worked by hand at one temperature.
    # 8e-5 × 20 × (20 - 4) × sqrt(36 - 20) = 0.1024; with the cube root of 27: 8e-5 × 20 × 16 × 3 = 0.0768.
    assert briere1(20.0, 8e-5, 4.0, 36.0) == pytest.approx(0.1024)
    assert briere2(20.0, 8e-5, 4.0, 47.0, 3.0) == pytest.approx(0.0768)


def test_briere_with_the_lower_threshold_below_zero_rests_in_the_cold() -> None:
    # Source: a fit of Brière-1 to the default line of M. persicae has T0 -1.48, a curve artefact; derived.
    assert briere1([-1.0, -0.5, 0.0], 8.364e-5, -1.48, 32.5) == pytest.approx([0.0, 0.0, 0.0])


@pytest.mark.parametrize("degrees", [2.0, 10.0, 18.0, 25.0, 31.0, 38.0])
def test_enzyme_model_is_the_printed_fraction(degrees: float) -> None:
    # Source: Schoolfield et al. 1981, equation 4; recalled. Written as printed, in calories, without logarithms.
    gas, kelvin = 1.987204, degrees + 273.15
    top = 0.2 * kelvin / 298.15 * np.exp(12000 / gas * (1 / 298.15 - 1 / kelvin))
    cold = np.exp(-45000 / gas * (1 / 281.15 - 1 / kelvin))
    hot = np.exp(90000 / gas * (1 / 306.15 - 1 / kelvin))
    joule = 4.184
    rate = sharpe_schoolfield(degrees, 0.2, 12000 * joule, 45000 * joule, 8.0, 90000 * joule, 33.0)
    assert rate == pytest.approx(top / (1 + cold + hot), rel=2e-5)


def test_enzyme_model_halves_at_either_half_temperature() -> None:
    # Source: Schoolfield et al. 1981, the meaning of the two half temperatures; recalled. The other end is out of
    # reach here.
    active = 0.2 * (281.15 / 298.15) * np.exp(50e3 / 8.314462618 * (1 / 298.15 - 1 / 281.15))
    assert sharpe_schoolfield(8.0, 0.2, 50e3, 3e5, 8.0, 9e5, 45.0) == pytest.approx(active / 2, rel=1e-6)
