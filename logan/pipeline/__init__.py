"""The only room that knows the order of the stages.

``analyse`` makes a finding, ``decode`` the channels alone, ``overview`` looks into a capture; all begin with ``gather``.
"""
