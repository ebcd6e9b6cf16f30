-- The loggers that lost readings in the window: how many were expected of their
-- probes and how many came, the worst first.
SELECT logger, count(*) AS probes,
       sum(readings_expected) AS expected, sum(readings_received) AS received,
       1 - sum(least(readings_received, readings_expected))
           / sum(readings_expected) AS lost_share,
       max(last_reading) AS last_reading
FROM 'health.parquet'
WHERE readings_expected > 0
GROUP BY logger
HAVING lost_share > 0
ORDER BY lost_share DESC, logger;
