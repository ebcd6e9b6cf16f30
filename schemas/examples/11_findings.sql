-- What was found and is not explained by another fault, with what was measured
-- and against what; the surest first.
SELECT subject, name, fault, confidence, measured, threshold, unit,
       start, "end" IS NULL AS still_so, readings, evidence
FROM 'findings.parquet'
WHERE masked_by IS NULL
ORDER BY confidence DESC, subject, name, fault, start;
