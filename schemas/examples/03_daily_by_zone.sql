-- The daily means of each zone and depth, over the readings that are not left
-- out: of each probe its mean, of the probes the median, and how many there
-- were.
SELECT zone, depth_cm, day, unit,
       median(mean) AS median_of_means, min(mean) AS lowest,
       max(mean) AS highest, count(*) AS probes, sum(readings) AS readings
FROM 'usable_daily.parquet'
GROUP BY ALL
ORDER BY zone, depth_cm, unit, day;
