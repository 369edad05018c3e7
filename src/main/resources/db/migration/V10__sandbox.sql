-- The authorization server of the sandbox: the clients that are registered, the assertions by which
-- they have shown who they are, each of which counts once, and the key that signs the tokens.
create table sandbox_client (
  clinic varchar(64) not null,
  client_id varchar(200) not null,
  jwks varchar(20000) not null,
  scopes varchar(4000) not null,
  primary key (clinic, client_id)
);

create table sandbox_assertion (
  clinic varchar(64) not null,
  client_id varchar(200) not null,
  jti_hash varchar(64) not null,
  expires_ms bigint not null,
  primary key (clinic, client_id, jti_hash)
);

create table sandbox_key (
  clinic varchar(64) not null,
  jwk varchar(4000) not null,
  primary key (clinic)
);
