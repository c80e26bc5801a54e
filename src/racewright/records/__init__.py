"""What is kept of a job: text as it was written."""
