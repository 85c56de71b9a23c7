-- The app's role may neither change nor delete what was issued or recorded, whatever its code does. Run as the owner of
-- the tables after each migrate and restore:  psql -d quoting -f .deploy/roles.sql
-- Migrations run as the owner, the app as quoting_app (DATABASE_URL of the units).
GRANT USAGE ON SCHEMA public TO quoting_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO quoting_app;
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO quoting_app;
REVOKE UPDATE, DELETE ON quotes_quote, quotes_customerreply, quotes_auditentry, quotes_auditseal, quotes_review,
    quotes_masterdata, planning_runrecord, planning_runimport FROM quoting_app;
-- Of an issued document the link alone changes.
GRANT UPDATE (link_hash, link_expires, link_revoked_at) ON quotes_quote TO quoting_app;
