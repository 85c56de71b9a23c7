"""Running the app: health, logs, metrics, backup and restore. Knows pages and tables; nobody knows it."""
