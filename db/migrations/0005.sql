-- From version 4 to 5: a tick of a cut knows what breakdowns of its day had given before it; what came of one is found by its
-- code. A recipe may need equipment only some time after its work has begun. An order line knows what the sums said as it
-- was written.

alter table task_ticks add column cut_before text;
alter table recipe_equipment add column after_s integer not null default 0;
alter table order_lines add column sums text;
create index if not exists breakdowns_day on breakdowns (broken_on);
create index if not exists breakdown_outputs_code on breakdown_outputs (breakdown_code);
