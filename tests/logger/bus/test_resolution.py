from logger.bus.resolution import ResolutionPolicy

HOT_S = 0.97
IDLE_S = 2.0


def test_12_bit_where_the_sweep_fits():
    policy = ResolutionPolicy()
    for _ in range(1000):
        policy.note(0.85, HOT_S)
    assert (policy.bits, policy.sweep_s) == (12, 0.85)


def test_11_bit_where_it_does_not():
    policy = ResolutionPolicy()
    for _ in range(3):
        assert policy.bits == 12
        policy.note(1.05, HOT_S)
    assert policy.bits == 11


def test_11_bit_where_time_runs_out():
    policy = ResolutionPolicy()
    for _ in range(3):
        policy.note(None, HOT_S)
    assert policy.bits == 11


def test_one_hung_sweep_changes_nothing():
    policy = ResolutionPolicy()
    for took_s in (0.85, None, 0.85, None, None, 0.85) * 20:
        policy.note(took_s, HOT_S)
    assert policy.bits == 12


def test_back_to_12_once_it_would_fit_for_a_minute():
    policy = ResolutionPolicy()
    for _ in range(3):
        policy.note(1.05, HOT_S)
    for _ in range(200):
        policy.note(0.68, HOT_S)  # and 0.375 s more at 12 bit: too long for a hot second
    assert policy.bits == 11
    for _ in range(59):
        policy.note(0.68, IDLE_S)
    assert policy.bits == 11
    policy.note(0.68, IDLE_S)
    assert policy.bits == 12


def test_a_shorter_time_counts_at_once_for_the_sweeps_known():
    policy = ResolutionPolicy()
    for _ in range(10):
        policy.note(1.05, IDLE_S)
    assert policy.bits == 12
    policy.note(1.05, HOT_S)
    assert policy.bits == 11


def test_conversions_one_after_another_each_take_longer():
    policy = ResolutionPolicy()
    for _ in range(3):
        policy.note(None, IDLE_S)
    for _ in range(200):
        policy.note(1.2, IDLE_S, conversions=3)  # 1.2 + 3 x 0.375 > 2
    assert policy.bits == 11


def test_chosen_by_the_settings_it_stays():
    policy = ResolutionPolicy(10)
    for _ in range(100):
        policy.note(None, HOT_S)
    assert policy.bits == 10
