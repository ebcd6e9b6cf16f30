-- The same days from the readings themselves, for a measure that the daily
-- table does not have: here the mean and the spread of what was exported, by
-- probe. Days are those of the session: SET timezone to the farm's first.
SELECT f.probe, date_trunc('day', f.time) AS day, f.unit,
       avg(f.value) AS mean, stddev_samp(f.value) AS spread,
       count(*) AS readings
FROM 'flags.parquet' AS f
ANTI JOIN 'exclusions.parquet' AS e
  ON f.probe = e.probe AND f.time >= e.start AND f.time < e."end"
WHERE f.value IS NOT NULL
GROUP BY ALL
ORDER BY f.probe, day;
