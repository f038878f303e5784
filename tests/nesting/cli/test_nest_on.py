def test_boards_are_compared_for_the_same_parts(small_job, sheetwood):
    name = sheetwood("nest", small_job.folder, "--sweeps", "20", "--json").json["boards"][0]["name"]
    fits = sheetwood("nest", small_job.folder, "--on", name, "--sweeps", "20", "--json").json["fits"]
    assert [fit["board"] for fit in fits] == [name]
    assert fits[0]["fits"]
    assert fits[0]["used_length_mm"] > 0


def test_a_board_that_is_not_in_the_rack_is_refused(small_job, sheetwood):
    done = sheetwood("nest", small_job.folder, "--on", "nowhere", "--sweeps", "20")
    assert done.code == 3
    assert "nowhere" in done.err
