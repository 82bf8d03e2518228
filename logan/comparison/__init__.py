"""Several analysed drives of one vehicle in, differences, fates of faults and trends out."""

from logan.comparison.compare import Drive, compare

__all__ = ["Drive", "compare"]
