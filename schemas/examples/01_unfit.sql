-- The probes that cannot be trusted at the end of the window, in the order in
-- which the crew should go.
SELECT probe, zone, depth_cm, verdict, main_fault, since, confidence, rank
FROM 'health.parquet'
WHERE verdict IN ('unfit', 'silent', 'doubtful')
ORDER BY rank NULLS LAST, probe;
