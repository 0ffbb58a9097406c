"""Questions asked of a machine: its convention, spins, trial masses, known masses, what went wrong, tests of the machine."""
