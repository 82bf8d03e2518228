"""What the trade and the standards know, as data files, with the checks that keep them right."""
