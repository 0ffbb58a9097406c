"""One module per step of the job: takes a job, returns a result, prints nothing."""
