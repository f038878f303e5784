"""Many jobs in one go: on this machine's cores or on a cluster, each job written where it lies."""
