-- compatible: older builds keep working
-- Logins for BI: which login of the database reads which projects. The owner of the tables grants; the service does not.

CREATE TABLE "bi_grant" (
    "id" SERIAL NOT NULL,
    "project_id" INTEGER NOT NULL DEFAULT scope_project(),
    "login" TEXT NOT NULL,
    "granted_by" TEXT NOT NULL DEFAULT acting_subject(),
    "granted_at" TIMESTAMPTZ(3) NOT NULL DEFAULT CURRENT_TIMESTAMP,

    CONSTRAINT "bi_grant_pkey" PRIMARY KEY ("id")
);

CREATE UNIQUE INDEX "bi_grant_project_id_login_key" ON "bi_grant"("project_id", "login");
CREATE INDEX "bi_grant_login_idx" ON "bi_grant"("login");

ALTER TABLE "bi_grant" ADD CONSTRAINT "bi_grant_project_id_fkey" FOREIGN KEY ("project_id") REFERENCES "project"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- No login of the service, of its owner's kind or of PostgreSQL itself: see loginFault in src/common/database/bi-logins.ts.
ALTER TABLE "bi_grant" ADD CONSTRAINT "bi_grant_login" CHECK ("login" ~ '^[a-z][a-z0-9_]{0,62}$' AND "login" !~ '^(pg_|drivebook)');

SELECT hold_to_scope('bi_grant'), history.keep('bi_grant');
REVOKE INSERT, UPDATE, DELETE ON bi_grant FROM drivebook_app;

-- The projects that whoever is connected reads as a login for BI. By the login of the connection: no setting and no SET ROLE changes it.
CREATE FUNCTION bi_projects() RETURNS int[] LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp AS $$
  SELECT coalesce(array_agg(project_id), '{}') FROM bi_grant WHERE login = session_user
$$;
REVOKE EXECUTE ON FUNCTION bi_projects FROM PUBLIC;
