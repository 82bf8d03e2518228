"""What to record so that faults can be told: schedules of requests, and the smallest error a drive would show."""
