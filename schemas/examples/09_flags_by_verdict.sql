-- Every reading's flag beside its probe's verdict: how many of the window's
-- readings pass (1), were not evaluated (2), are suspect (3), fail (4) or are
-- missing (9).
SELECT h.verdict, f.qc_flag, count(*) AS readings,
       count(DISTINCT f.probe) AS probes
FROM 'flags.parquet' AS f
JOIN 'health.parquet' AS h USING (probe)
WHERE f.time >= h.window_start AND f.time < h.window_end
GROUP BY ALL
ORDER BY h.verdict, f.qc_flag;
