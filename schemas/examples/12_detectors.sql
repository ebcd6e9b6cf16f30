-- What each detector answered in this run, and how often it could not: from the
-- manifest, which counts every probe, logger and zone once.
SELECT d.detector, d.scope, d.subjects, d.found, d.clear,
       d.absent AS something_absent, d.too_short, d.no_chance
FROM (SELECT unnest(detectors) AS d FROM read_json('manifest.json'))
ORDER BY d.found DESC, d.detector;
