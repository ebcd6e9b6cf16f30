-- How often the crew found a fault where each detector sent it, with a 95 %
-- interval: from the manifest. No rows until a scan has read a visits.csv.
WITH told AS (
  SELECT unnest(visits.hit_rates) AS r
  FROM read_json('manifest.json', columns = {visits: 'STRUCT(hit_rates STRUCT(
    detector VARCHAR, hits BIGINT, hits_by_name BIGINT, misses BIGINT,
    not_reached BIGINT, share DOUBLE, low_95 DOUBLE, high_95 DOUBLE)[])'})
)
SELECT r.* FROM told ORDER BY r.share, r.detector;
