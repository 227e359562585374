"""From drawings to sheets of paper or the bed of a cutter."""
