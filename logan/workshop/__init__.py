"""The workshop: captures handed in over a web page or by a device, analysed, and reviewed."""
