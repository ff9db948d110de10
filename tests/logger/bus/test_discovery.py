from logger.bus.discovery import Tree


def test_masters_and_members_by_the_kernels_links(lab, make_probe, ids):
    lab.simulate(make_probe(0), make_probe(1, master=2))
    tree = Tree(lab.folder)
    assert tree.masters() == ("w1_bus_master1", "w1_bus_master2")
    assert [(f.probe_id, f.family, f.kind, f.master) for f in tree.thermometers()] == [
        (ids[0], 0x28, "DS18B20", "w1_bus_master1"),
        (ids[1], 0x28, "DS18B20", "w1_bus_master2"),
    ]


def test_members_of_a_plain_copy_by_the_masters_list(tmp_path):
    for name in ("28-0000075a1b2c", "28-0000075a1b2d"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "w1_slave").write_text("")
    for number, name in (("1", "28-0000075a1b2d"), ("2", "28-0000075a1b2c")):
        (tmp_path / f"w1_bus_master{number}").mkdir()
        (tmp_path / f"w1_bus_master{number}" / "w1_master_slaves").write_text(f"{name}\n")
    assert [(f.probe_id, f.master) for f in Tree(tmp_path).thermometers()] == [
        ("28-0000075a1b2c", "w1_bus_master2"),
        ("28-0000075a1b2d", "w1_bus_master1"),
    ]


def test_two_trees_do_not_disturb_each_other(lab, make_probe, ids, tmp_path):
    lab.simulate(make_probe(0))
    (tmp_path / "other").mkdir()
    here, there = Tree(lab.folder), Tree(tmp_path / "other")
    assert (len(here.thermometers()), len(there.thermometers())) == (1, 0)
    assert len(here.thermometers()) == 1
