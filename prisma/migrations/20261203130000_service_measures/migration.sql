-- What an operator watches, over all projects: the metrics ask it, and serve it on a port of their own. It needs no scope,
-- so it says nothing of a record but how much is open, how old and how large it is.
-- p_most: drives told of, those with the newest shifts first.
CREATE FUNCTION service_measures(p_most int) RETURNS jsonb LANGUAGE plpgsql STABLE SECURITY DEFINER
SET search_path = report, public, pg_temp AS $$
BEGIN
  RETURN jsonb_build_object(
    'drives', (
      SELECT coalesce(jsonb_agg(jsonb_build_object('project', w.project, 'drive', w.drive,
          'openItems', (SELECT count(*) FROM open_item o WHERE o.drive_id = w.id),
          'lastShiftAgeS', extract(epoch FROM clock_timestamp() - w.last_end)::float8)), '[]')
      FROM (
        SELECT p.code AS project, d.code AS drive, d.id, (SELECT max(s.ends_at) FROM public.shift s WHERE s.drive_id = d.id) AS last_end
        FROM public.drive d JOIN public.project p ON p.id = d.project_id
        ORDER BY last_end DESC NULLS LAST, d.id LIMIT p_most
      ) w),
    'projects', (
      SELECT coalesce(jsonb_agg(jsonb_build_object('project', p.code, 'changes', coalesce(c.number, 0),
          'lastChangeAgeS', extract(epoch FROM clock_timestamp() - c.made_at)::float8,
          'attachmentBytes', (SELECT coalesce(sum(f.size_bytes), 0)
            FROM (SELECT DISTINCT h.digest, h.size_bytes FROM history.attached_file h WHERE h.project_id = p.id) f))), '[]')
      FROM public.project p
      LEFT JOIN LATERAL (SELECT number, made_at FROM history.change WHERE project_id = p.id ORDER BY number DESC LIMIT 1) c ON true)
  );
END $$;

REVOKE EXECUTE ON FUNCTION service_measures FROM PUBLIC;
GRANT EXECUTE ON FUNCTION service_measures TO drivebook_app;
