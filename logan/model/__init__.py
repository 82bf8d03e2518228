"""The shapes in which data pass from stage to stage: nothing here computes a result."""
