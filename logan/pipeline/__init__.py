"""The only room that knows the order of the stages."""

from logan.pipeline.analyse import Analysis, analyse
from logan.pipeline.gather import Gathered, gather

__all__ = ["Analysis", "Gathered", "analyse", "gather"]
