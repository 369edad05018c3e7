-- How the plans of a clinic have gone in a period, from an export of its records: the figures that
-- [base]/$outcomes gives, for an analytics engine that need not ask the service. Written for DuckDB
-- 1.4 or newer, which reads the files as they were fetched:
--
--   duckdb -cmd "set variable folder = 'export'" \
--          -cmd "set variable period_start = date '2026-01-01'" \
--          -cmd "set variable period_end = date '2026-06-30'" < outcomes.sql
--
-- The folder holds the files of $export?_type=CarePlan,Goal,GuidanceResponse, as *.ndjson. The
-- period ends on the day of the export at the latest; without a start it has none. What the figures
-- mean is told by the Measure https://tidemark.example/fhir/Measure/outcomes. They are sums;
-- of few people a sum can still tell of one of them, and the export itself is health data.

create or replace temp macro part(extension, name) as
  list_filter(
    json_extract(extension, '$.extension[*]'), lambda one: json_extract_string(one, '$.url') = name)[1];

create or replace temp macro calendar_day(written) as
  case when length(written) >= 10 then cast(substr(written, 1, 10) as date) end;

create or replace temp table record as
select json->>'$.resourceType' as type, json->>'$.id' as id, json
from read_ndjson_objects(getvariable('folder') || '/*.ndjson')
where (json->>'$.resourceType') in ('CarePlan', 'Goal', 'GuidanceResponse');

create or replace temp table plan as
select
  'CarePlan/' || id as plan,
  case
    when (json->>'$.status') in ('completed', 'revoked') then
      coalesce(
        calendar_day(json->>'$.period.end'),
        cast(cast(json->>'$.meta.lastUpdated' as timestamp) as date))
  end as ended,
  json->'$.goal[*].reference' as goals
from record
where type = 'CarePlan' and (json->>'$.status') <> 'entered-in-error';

-- Each decision about a plan, with its place among those about it.
create or replace temp table decision as
select
  json->>'$.result.reference' as plan,
  calendar_day(json->>'$.occurrenceDateTime') as day,
  row_number() over (
    partition by json->>'$.result.reference'
    order by
      cast(json->>'$.meta.lastUpdated' as timestamp),
      cast(json->>'$.occurrenceDateTime' as timestamp),
      id) as place,
  json->'$.extension[*]' as extensions
from record
where type = 'GuidanceResponse' and (json->>'$.result.reference') in (select plan from plan);

-- How each session went: what the last decision about it says.
create or replace temp table session as
with judged as (
  select plan, place, unnest(extensions) as extension from decision
)
select
  plan,
  part(extension, 'report')->>'$.valueReference.reference' as report,
  calendar_day(part(extension, 'start')->>'$.valueDateTime') as day,
  part(extension, 'response')->>'$.valueCode' as response,
  (part(extension, 'leading')->>'$.valueBoolean') = 'true' as of_lead
from judged
where (extension->>'$.url') like '%/StructureDefinition/session-judged'
qualify row_number() over (partition by plan, report order by place desc) = 1;

delete from session
where response is null
  or day < getvariable('period_start')
  or day > getvariable('period_end');

-- From which day on a plan asked for how many sessions a week. What a later decision says of a day
-- and those after it stands in the place of what earlier ones said of them.
create or replace temp table asked as
with told as (
  select
    plan,
    place,
    day,
    cast(
      part(
        list_filter(
          extensions,
          lambda extension: (part(extension, 'name')->>'$.valueCode') = 'asked-per-week')[1],
        'value')->>'$.valueDecimal' as double) as per_week
  from decision
),
changed as (
  select * from told
  where per_week is not null
  qualify lag(per_week) over (partition by plan order by place) is distinct from per_week
),
standing as (
  select
    plan,
    day,
    per_week,
    min(day) over (
      partition by plan order by place
      rows between 1 following and unbounded following) as told_anew_from
  from changed
)
select
  plan,
  per_week,
  day as first_day,
  lead(day) over (partition by plan order by day) as next_day
from standing
where (told_anew_from is null or day < told_anew_from) and day <= getvariable('period_end');

create or replace temp table total as
select
  (select count(*) from session where response <> 'pending') as answered,
  (select count(*) from session where response = 'flared') as flared,
  (select count(*) from session where of_lead) as done,
  (
    select
      sum(
        per_week / 7 * greatest(
          0,
          date_diff(
            'day',
            greatest(first_day, coalesce(getvariable('period_start'), first_day)),
            least(
              coalesce(next_day, date '9999-12-31'),
              least(coalesce(ended, date '9999-12-31'), getvariable('period_end')) + 1))))
    from asked join plan using (plan)
  ) as asked;

-- The days until each goal was reached, or until which it had not been.
create or replace temp table goal_time as
with of_plan as (
  select plan, ended, unnest(goals)->>'$' as reference from plan
),
goal as (
  select
    list_filter(
      json_extract(json, '$.extension[*]'),
      lambda extension: (extension->>'$.url') like '%/StructureDefinition/goal-code')[1]
      ->>'$.valueCode' as code,
    calendar_day(json->>'$.startDate') as start,
    calendar_day(
      list_filter(
        json_extract(json, '$.extension[*]'),
        lambda extension: (extension->>'$.url') like '%/StructureDefinition/goal-reached')[1]
        ->>'$.valueDate') as reached,
    least(coalesce(ended, getvariable('period_end')), getvariable('period_end')) as seen
  from of_plan join record on type = 'Goal' and 'Goal/' || id = reference
  where (json->>'$.lifecycleStatus') not in ('entered-in-error', 'rejected')
)
select
  code,
  coalesce(reached <= getvariable('period_end'), false) as arrived,
  greatest(0, date_diff('day', start, case when arrived then reached else seen end)) as days
from goal
where code is not null
  and start >= coalesce(getvariable('period_start'), start)
  and start <= getvariable('period_end');

-- The share that has not arrived yet (Kaplan and Meier 1958, J Am Stat Assoc 53:457-81).
create or replace temp table goal_median as
with arrivals as (
  select code, days, count(*) as arrived
  from goal_time where arrived group by code, days
),
at_risk as (
  select code, days, arrived,
    (select count(*) from goal_time t where t.code = a.code and t.days >= a.days) as people
  from arrivals a
),
share as (
  select code, days,
    product(1 - arrived / people) over (partition by code order by days) as left_over
  from at_risk
)
select code, min(days) as median from share where left_over <= 0.5 + 1e-9 group by code;

select * from (
  select
    'flare-rate' as figure, null as goal, answered as denominator, flared as numerator,
    round(flared / nullif(answered, 0), 4) as score
  from total
  union all
  select
    'adherence', null, cast(round(coalesce(asked, 0)) as bigint), done,
    round(done / nullif(asked, 0), 4)
  from total
  union all
  select
    'time-to-goal', code, count(*), count(*) filter (where arrived), any_value(median)
  from goal_time left join goal_median using (code)
  group by code
)
order by figure = 'time-to-goal', figure = 'adherence', goal;
