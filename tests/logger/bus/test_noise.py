from statistics import fmean, pstdev

from logger.bus.noise import noise


def test_noise_has_mean_0_and_deviation_1():
    drawn = [noise(1, "pot", tick) for tick in range(20_000)]
    assert abs(fmean(drawn)) < 0.03
    assert abs(pstdev(drawn) - 1) < 0.03
    assert max(map(abs, drawn)) < 3.5


def test_noise_is_another_for_another_seed_name_or_tick():
    assert (
        len({noise(1, "pot", 1), noise(2, "pot", 1), noise(1, "head", 1), noise(1, "pot", 2)}) == 4
    )
