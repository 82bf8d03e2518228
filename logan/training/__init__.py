"""The training room: recorded drives played again, so that others can practise on them."""
