"""The only room that knows the order of the stages.

``analyse`` makes a finding, ``decode`` the channels alone, ``overview`` a look into a capture.
All begin with ``gather``.
"""
