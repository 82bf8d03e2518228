"""Signal processing: arrays in, arrays out; knows no engine, no channel and no file."""
