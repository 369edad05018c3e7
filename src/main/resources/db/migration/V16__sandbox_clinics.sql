-- The clinic that a client of the sandbox gets tokens for. The sandbox's own rows belong to the
-- clinic that the service is set up for, whose clients have been those of that clinic alone.
alter table sandbox_client add column acts_for varchar(64);
update sandbox_client set acts_for = clinic;
alter table sandbox_client alter column acts_for set not null;
