-- The visits in their order, with the minutes of work up to and with each of
-- them: where a crew gets to in a day.
SELECT rank, visit, block, post, tag, suspected_cause, confidence, minutes,
       sum(minutes) OVER (ORDER BY rank) AS minutes_so_far, runs_open, bring
FROM 'queue.csv'
ORDER BY rank;
