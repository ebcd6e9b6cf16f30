-- The hours that each fault takes from each zone, over all probes. A stretch
-- with two reasons counts for both.
SELECT h.zone, r.fault, count(DISTINCT e.probe) AS probes,
       sum(epoch(e."end") - epoch(e.start)) / 3600 AS hours
FROM 'exclusions.parquet' AS e
JOIN 'health.parquet' AS h USING (probe),
     unnest(string_split(e.reasons, ' ')) AS r(fault)
GROUP BY ALL
ORDER BY hours DESC, h.zone, r.fault;
