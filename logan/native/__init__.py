"""Machine code for the few loops that long logs spend their time in; each has a twin in numpy that gives the same."""
