-- The verdict of each probe in each run, and since which run it has been so: a
-- run of equal verdicts is one row, the newest first.
WITH marked AS (
  SELECT *, verdict IS DISTINCT FROM lag(verdict)
            OVER (PARTITION BY probe ORDER BY window_end) AS changed
  FROM 'history.parquet'
), spells AS (
  SELECT *, count(*) FILTER (changed)
            OVER (PARTITION BY probe ORDER BY window_end) AS spell
  FROM marked
)
SELECT probe, any_value(zone) AS zone, verdict, count(*) AS runs,
       min(window_start) AS from_run, max(window_end) AS to_run,
       avg(usable_share) AS usable_share,
       arg_max(main_fault, window_end) AS main_fault
FROM spells
GROUP BY probe, spell, verdict
ORDER BY probe, to_run DESC;
