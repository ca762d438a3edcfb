"""What the reports write: runs of the review, and nothing else."""
