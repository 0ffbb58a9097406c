"""The bench page: the whole job in a browser beside the machine, over the same files and steps as the commands.

One file per part of the page (`spin_part`, `cut_part`, ...), each with its template of the same name.  Nothing is kept but the
files: every request loads the job, acts through `planner.steps`, and writes under the job's lock.
"""
