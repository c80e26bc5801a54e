"""A fixed slice of `evidence/evidence_readers.py`: every reader reads or refuses what is spoilt."""

from evidence_readers import feed_all


def test_every_reader_reads_or_refuses_what_is_spoilt() -> None:
    tallies = feed_all(1000, seed=2)
    assert {name: tally.missed for name, tally in tallies.items() if tally.missed} == {}
    assert all(sum(tally.words.values()) >= 8 for tally in tallies.values())
    assert sum(tally.words["refused"] < sum(tally.words.values()) for tally in tallies.values()) >= 12
