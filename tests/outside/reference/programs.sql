-- Device-days and infections of 2025 of every program that has a folder TABLES/program=NAME, as `audit --year 2025` counts them.
WITH stay AS (
    SELECT program, patient, greatest(implanted, records_from) AS first, "ended.on" AS ended
    FROM read_parquet('TABLES/*/patients.parquet', hive_partitioning = true)
), days AS (
    SELECT program,
        sum(greatest(0, least(coalesce(ended, DATE '2026-01-01'), DATE '2026-01-01') - greatest(first, DATE '2025-01-01'))) AS device_days
    FROM stay GROUP BY program
), onsets AS (
    SELECT DISTINCT program, patient, onset
    FROM read_parquet('TABLES/*/infection.parquet', hive_partitioning = true) JOIN stay USING (program, patient)
    WHERE NOT voided AND certainty IN ('proven', 'probable') AND recurrence_of IS NULL
        AND onset BETWEEN DATE '2025-01-01' AND DATE '2025-12-31' AND onset >= first AND (ended IS NULL OR onset <= ended)
)
SELECT program, device_days, count(onset) AS infections, round(1000.0 * count(onset) / nullif(device_days, 0), 2) AS per_1000
FROM days LEFT JOIN onsets USING (program)
GROUP BY program, device_days ORDER BY program;
