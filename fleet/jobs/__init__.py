"""Background work. The database is the ledger, the broker a doorbell: either may be killed at any moment."""
