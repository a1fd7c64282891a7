"""What was practised: the store of past sessions, progress, the plan for today, the club; nothing leaves the machine."""
