"""What can be asked of a piece and of a job: the one description that every door fills, checked into orders."""
