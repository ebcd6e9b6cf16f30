-- The zones and depths where no probe can be trusted: do not water by these. It
-- says since when, and when a reading there could last be trusted.
SELECT zone, block, depth_cm, probes, unfit, silent, doubtful, unknown,
       usable_days, blind_since, last_trusted
FROM 'coverage.csv'
WHERE blind
ORDER BY zone, depth_cm;
