-- Every reading that may be used: all readings with a value, without the
-- stretches that are left out. A stretch holds its start and not its end.
SELECT f.time, f.probe, f.value, f.unit, f.tension_kpa, f.water_content
FROM 'flags.parquet' AS f
ANTI JOIN 'exclusions.parquet' AS e
  ON f.probe = e.probe AND f.time >= e.start AND f.time < e."end"
WHERE f.value IS NOT NULL
ORDER BY f.probe, f.time;
