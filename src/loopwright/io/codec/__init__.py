"""The document as JSON, one small file a part. Arrays of rides are kept outside the JSON."""
