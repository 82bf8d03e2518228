"""Measures, codes and circumstances in, ranked faults out."""

from logan.ranking.rank import Knowledge, check_words, knowledge, rank

__all__ = ["Knowledge", "check_words", "knowledge", "rank"]
