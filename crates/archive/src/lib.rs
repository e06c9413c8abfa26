//! Logs in Parquet.
