"""The foundations every table stands on: shop scope, stamps, the job table, the seal chain."""
