-- compatible: older builds keep working
-- An operator is told of messages to webhooks that were given up, too.
CREATE OR REPLACE FUNCTION service_measures(p_most int) RETURNS jsonb LANGUAGE plpgsql STABLE SECURITY DEFINER
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
            FROM (SELECT DISTINCT h.digest, h.size_bytes FROM history.attached_file h WHERE h.project_id = p.id) f),
          'deadDeliveries', (SELECT count(*) FROM public.webhook_endpoint e JOIN public.webhook_delivery w ON w.endpoint_id = e.id AND w.state = 'dead'
            WHERE e.project_id = p.id))), '[]')
      FROM public.project p
      LEFT JOIN LATERAL (SELECT number, made_at FROM history.change WHERE project_id = p.id ORDER BY number DESC LIMIT 1) c ON true)
  );
END $$;
