-- Pay items are measured from grouting too, and from probe holes by how they were drilled. An older build would measure nothing by such a rule:
-- it does not start on this database. A new value of an enum can be named only after the transaction that adds it: rules compare texts.
ALTER TYPE "measure_source" ADD VALUE 'grouting';

ALTER TABLE "measurement_rule" ADD COLUMN "methods" TEXT[], ADD COLUMN "purposes" TEXT[], ADD COLUMN "materials" TEXT[];
ALTER TABLE history.measurement_rule ADD COLUMN methods TEXT[], ADD COLUMN purposes TEXT[], ADD COLUMN materials TEXT[];

ALTER TABLE measurement_rule
  DROP CONSTRAINT measurement_rule_dimension,
  DROP CONSTRAINT measurement_rule_filters,
  ADD CONSTRAINT measurement_rule_dimension CHECK (dimension::text = ANY (CASE source::text
    WHEN 'advance' THEN ARRAY['length', 'area', 'volume'] WHEN 'support' THEN ARRAY['count', 'length', 'area', 'volume', 'mass']
    WHEN 'probing' THEN ARRAY['count', 'length'] WHEN 'grouting' THEN ARRAY['count', 'length', 'hours', 'mass', 'volume']
    WHEN 'time' THEN ARRAY['hours'] ELSE ARRAY['percent'] END)),
  ADD CONSTRAINT measurement_rule_filters CHECK (
    0 <> ALL (ARRAY[cardinality(items), cardinality(kinds), cardinality(zones), cardinality(classes), cardinality(lithologies),
      cardinality(activities), cardinality(time_classes), cardinality(parties), cardinality(methods), cardinality(purposes), cardinality(materials)])
    AND (source::text = 'support' OR (items IS NULL AND kinds IS NULL AND zones IS NULL))
    AND (source::text = 'time' OR (activities IS NULL AND time_classes IS NULL AND parties IS NULL))
    AND (source::text = 'probing' OR methods IS NULL) AND (source::text = 'grouting' OR purposes IS NULL)
    AND (materials IS NULL OR (source::text = 'grouting' AND dimension::text IN ('mass', 'volume')))
    AND (source::text IN ('advance', 'support', 'probing', 'grouting') OR (classes IS NULL AND lithologies IS NULL AND min_per_m IS NULL AND max_per_m IS NULL))
    AND (source::text IN ('advance', 'support') OR pay_diameter_m IS NULL) AND (source::text <> 'lump' OR allowance_percent IS NULL));

COMMENT ON COLUMN measurement_rule.methods IS 'Probing: how the holes were drilled; null: all.';
COMMENT ON COLUMN measurement_rule.purposes IS 'Grouting: purposes of the rounds; null: all.';
COMMENT ON COLUMN measurement_rule.materials IS 'Mass and volume of grouting: materials of the mixes; null: all.';

SELECT history.keep('measurement_rule');
