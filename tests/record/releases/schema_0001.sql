BEGIN TRANSACTION;
CREATE TABLE absence (
	id TEXT NOT NULL, 
	from_at BIGINT NOT NULL, 
	to_at BIGINT NOT NULL, 
	channel_id TEXT NOT NULL, 
	note TEXT, 
	created_at BIGINT NOT NULL, 
	CONSTRAINT pk_absence PRIMARY KEY (id), 
	CONSTRAINT fk_absence_channel_id_channel FOREIGN KEY(channel_id) REFERENCES channel (id)
);
INSERT INTO "absence" VALUES('away-2026-11-26',1795681560000,1795767960000,'hall','Away',1795595160000);
CREATE TABLE account (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	password_hash TEXT NOT NULL, 
	made_at BIGINT NOT NULL, 
	password_at BIGINT NOT NULL, 
	CONSTRAINT pk_account PRIMARY KEY (id)
);
INSERT INTO "account" VALUES('attic','Attic','$argon2id$no-hash',1795593600000,1795593600000);
CREATE TABLE alarm (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	"key" TEXT NOT NULL, 
	vessel_id TEXT, 
	batch_id TEXT, 
	probe_id TEXT, 
	other TEXT, 
	state TEXT NOT NULL, 
	priority TEXT NOT NULL, 
	raised_at BIGINT NOT NULL, 
	memory JSON NOT NULL
);
INSERT INTO "alarm" VALUES(1,'no-reading','bucket','stair-brown-2026-11-25','cupboard',NULL,'unacknowledged','low',1795593780000,'{"subject": {"key": "no-reading", "vessel_id": "bucket", "probe_id": "cupboard", "other": null}, "alarm_id": 1, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:27:10+00:00", "since": "2026-11-25T08:13:30+00:00", "unknown_since": null, "raised_at": "2026-11-25T08:03:00+00:00", "episode_at": "2026-11-25T08:13:30+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "nothing since 08:10, when it was 17.5 C", "numbers": {"silent_s": 1000, "limit_s": 180.0, "last_c": 17.5}, "names": {"vessel": "Bucket", "probe": "Cupboard", "probe_id": "cupboard"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:13:30+00:00", "flaps": 1, "episode": 2, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm" VALUES(2,'above-band','bucket','stair-brown-2026-11-25','28-00000a1b2c3d',NULL,'unacknowledged','high',1795594860000,'{"subject": {"key": "above-band", "vessel_id": "bucket", "probe_id": null, "other": null}, "alarm_id": 2, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:26:10+00:00", "since": "2026-11-25T08:11:00+00:00", "unknown_since": "2026-11-25T08:26:20+00:00", "raised_at": "2026-11-25T08:21:00+00:00", "episode_at": "2026-11-25T08:21:00+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "high", "reason": "22.8 C since 08:11, 1.3 C over the band", "numbers": {"now_c": 22.8, "limit_c": 21.5, "over_c": 1.3, "low_c": 18.5, "high_c": 21.5, "target_c": 20.0}, "names": {"vessel": "Bucket", "probe": "28-00000a1b2c3d", "probe_id": "28-00000a1b2c3d", "stage_kind": "primary"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "In the first days warmth brings harsh, fruity and solvent-like flavours that stay in the beer; later it matters less.", "advice": "Move the vessel somewhere cooler, take lagging off, or wrap it in a wet cloth in moving air. Set one frozen half-litre bottle against it and look again in two hours.", "respond_by": "2026-11-25T10:21:00+00:00", "flaps": 0, "episode": 1, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm" VALUES(3,'no-reading','bucket','stair-brown-2026-11-25','28-00000a1b2c3d',NULL,'unacknowledged','high',1795595180000,'{"subject": {"key": "no-reading", "vessel_id": "bucket", "probe_id": "28-00000a1b2c3d", "other": null}, "alarm_id": 3, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:27:10+00:00", "since": "2026-11-25T08:26:20+00:00", "unknown_since": null, "raised_at": "2026-11-25T08:26:20+00:00", "episode_at": "2026-11-25T08:26:20+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "high", "reason": "nothing since 08:25, when it was 22.8 C", "numbers": {"silent_s": 80, "limit_s": 30.0, "last_c": 22.8}, "names": {"vessel": "Bucket", "probe": "28-00000a1b2c3d", "probe_id": "28-00000a1b2c3d"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:26:20+00:00", "flaps": 0, "episode": 1, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
CREATE TABLE alarm_memory (
	subject TEXT NOT NULL, 
	memory JSON NOT NULL, 
	CONSTRAINT pk_alarm_memory PRIMARY KEY (subject)
);
INSERT INTO "alarm_memory" VALUES('["no-reading", "bucket", "cupboard", null]','{"subject": {"key": "no-reading", "vessel_id": "bucket", "probe_id": "cupboard", "other": null}, "alarm_id": 1, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:27:10+00:00", "since": "2026-11-25T08:13:30+00:00", "unknown_since": null, "raised_at": "2026-11-25T08:03:00+00:00", "episode_at": "2026-11-25T08:13:30+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "nothing since 08:10, when it was 17.5 C", "numbers": {"silent_s": 1000, "limit_s": 180.0, "last_c": 17.5}, "names": {"vessel": "Bucket", "probe": "Cupboard", "probe_id": "cupboard"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:13:30+00:00", "flaps": 1, "episode": 2, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["probe-fault", "bucket", "cupboard", null]','{"subject": {"key": "probe-fault", "vessel_id": "bucket", "probe_id": "cupboard", "other": null}, "alarm_id": null, "core": "normal", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:13:40+00:00", "since": null, "unknown_since": null, "raised_at": null, "episode_at": null, "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": "the probe is silent, which is an alarm of its own", "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "", "numbers": {}, "names": {}, "batch_id": null, "stage": null, "consequence": "", "advice": "", "respond_by": null, "flaps": 0, "episode": 0, "instance": 0, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["above-band", "bucket", null, null]','{"subject": {"key": "above-band", "vessel_id": "bucket", "probe_id": null, "other": null}, "alarm_id": 2, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:26:10+00:00", "since": "2026-11-25T08:11:00+00:00", "unknown_since": "2026-11-25T08:26:20+00:00", "raised_at": "2026-11-25T08:21:00+00:00", "episode_at": "2026-11-25T08:21:00+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "high", "reason": "22.8 C since 08:11, 1.3 C over the band", "numbers": {"now_c": 22.8, "limit_c": 21.5, "over_c": 1.3, "low_c": 18.5, "high_c": 21.5, "target_c": 20.0}, "names": {"vessel": "Bucket", "probe": "28-00000a1b2c3d", "probe_id": "28-00000a1b2c3d", "stage_kind": "primary"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "In the first days warmth brings harsh, fruity and solvent-like flavours that stay in the beer; later it matters less.", "advice": "Move the vessel somewhere cooler, take lagging off, or wrap it in a wet cloth in moving air. Set one frozen half-litre bottle against it and look again in two hours.", "respond_by": "2026-11-25T10:21:00+00:00", "flaps": 0, "episode": 1, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["probe-frozen", "bucket", "cupboard", null]','{"subject": {"key": "probe-frozen", "vessel_id": "bucket", "probe_id": "cupboard", "other": null}, "alarm_id": null, "core": "normal", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:13:40+00:00", "since": null, "unknown_since": null, "raised_at": null, "episode_at": null, "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": "the probe is silent, which is an alarm of its own", "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "", "numbers": {}, "names": {}, "batch_id": null, "stage": null, "consequence": "", "advice": "", "respond_by": null, "flaps": 0, "episode": 0, "instance": 0, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["no-reading", "bucket", "28-00000a1b2c3d", null]','{"subject": {"key": "no-reading", "vessel_id": "bucket", "probe_id": "28-00000a1b2c3d", "other": null}, "alarm_id": 3, "core": "unacknowledged", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:27:10+00:00", "since": "2026-11-25T08:26:20+00:00", "unknown_since": null, "raised_at": "2026-11-25T08:26:20+00:00", "episode_at": "2026-11-25T08:26:20+00:00", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": null, "suppressed_until": null, "out_of_service": false, "priority": "high", "reason": "nothing since 08:25, when it was 22.8 C", "numbers": {"silent_s": 80, "limit_s": 30.0, "last_c": 22.8}, "names": {"vessel": "Bucket", "probe": "28-00000a1b2c3d", "probe_id": "28-00000a1b2c3d"}, "batch_id": "stair-brown-2026-11-25", "stage": "primary", "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:26:20+00:00", "flaps": 0, "episode": 1, "instance": 1, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["probe-fault", "bucket", "28-00000a1b2c3d", null]','{"subject": {"key": "probe-fault", "vessel_id": "bucket", "probe_id": "28-00000a1b2c3d", "other": null}, "alarm_id": null, "core": "normal", "pending_since": null, "clearing_since": null, "judged_at": null, "since": null, "unknown_since": null, "raised_at": null, "episode_at": null, "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": "the probe is silent, which is an alarm of its own", "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "", "numbers": {}, "names": {}, "batch_id": null, "stage": null, "consequence": "", "advice": "", "respond_by": null, "flaps": 0, "episode": 0, "instance": 0, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["probe-frozen", "bucket", "28-00000a1b2c3d", null]','{"subject": {"key": "probe-frozen", "vessel_id": "bucket", "probe_id": "28-00000a1b2c3d", "other": null}, "alarm_id": null, "core": "normal", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:26:30+00:00", "since": null, "unknown_since": null, "raised_at": null, "episode_at": null, "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": "the probe is silent, which is an alarm of its own", "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "", "numbers": {}, "names": {}, "batch_id": null, "stage": null, "consequence": "", "advice": "", "respond_by": null, "flaps": 0, "episode": 0, "instance": 0, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
INSERT INTO "alarm_memory" VALUES('["probe-adrift", "bucket", "28-00000a1b2c3d", null]','{"subject": {"key": "probe-adrift", "vessel_id": "bucket", "probe_id": "28-00000a1b2c3d", "other": null}, "alarm_id": null, "core": "normal", "pending_since": null, "clearing_since": null, "judged_at": "2026-11-25T08:26:30+00:00", "since": null, "unknown_since": null, "raised_at": null, "episode_at": null, "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "returned_because": null, "shelved_until": null, "shelve_reason": null, "suppressed_by": "the probe is silent, which is an alarm of its own", "suppressed_until": null, "out_of_service": false, "priority": "low", "reason": "", "numbers": {}, "names": {}, "batch_id": null, "stage": null, "consequence": "", "advice": "", "respond_by": null, "flaps": 0, "episode": 0, "instance": 0, "shifted_s": 0.0, "return_known": false, "first_spoken_at": null, "return_spoken_at": null, "last_spoken_at": null, "spoken_priority": null, "reminders": 0, "next_reminder_at": null}');
CREATE TABLE alarm_transition (
	id INTEGER NOT NULL, 
	alarm_id INTEGER, 
	subject TEXT NOT NULL, 
	at BIGINT NOT NULL, 
	event TEXT NOT NULL, 
	"before" TEXT NOT NULL, 
	"after" TEXT NOT NULL, 
	cause TEXT NOT NULL, 
	numbers JSON NOT NULL, 
	CONSTRAINT pk_alarm_transition PRIMARY KEY (id), 
	CONSTRAINT fk_alarm_transition_alarm_id_alarm FOREIGN KEY(alarm_id) REFERENCES alarm (id)
);
INSERT INTO "alarm_transition" VALUES(1,1,'["no-reading", "bucket", "cupboard", null]',1795593780000,'raised','normal','unacknowledged','nothing believed for 3 min','{"silent_s": 180, "limit_s": 180.0}');
INSERT INTO "alarm_transition" VALUES(2,NULL,'["probe-fault", "bucket", "cupboard", null]',1795593790000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(3,NULL,'["probe-frozen", "bucket", "cupboard", null]',1795593790000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(4,1,'["no-reading", "bucket", "cupboard", null]',1795594320000,'returned','unacknowledged','returned-unacknowledged','readings arrive','{}');
INSERT INTO "alarm_transition" VALUES(5,NULL,'["probe-fault", "bucket", "cupboard", null]',1795594330000,'unsuppressed','normal','normal','No longer suppressed (the probe is silent, which is an alarm of its own): that is over','{}');
INSERT INTO "alarm_transition" VALUES(6,NULL,'["probe-frozen", "bucket", "cupboard", null]',1795594330000,'unsuppressed','normal','normal','No longer suppressed (the probe is silent, which is an alarm of its own): that is over','{}');
INSERT INTO "alarm_transition" VALUES(7,1,'["no-reading", "bucket", "cupboard", null]',1795594410000,'raised-again','returned-unacknowledged','unacknowledged','nothing since 08:10, when it was 17.5 C','{"silent_s": 180, "limit_s": 180.0, "last_c": 17.5}');
INSERT INTO "alarm_transition" VALUES(8,NULL,'["probe-fault", "bucket", "cupboard", null]',1795594420000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(9,NULL,'["probe-frozen", "bucket", "cupboard", null]',1795594420000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(10,2,'["above-band", "bucket", null, null]',1795594860000,'raised','normal','unacknowledged','22.8 C since 08:11, 1.3 C over the band','{"now_c": 22.8, "limit_c": 21.5, "over_c": 1.3, "low_c": 18.5, "high_c": 21.5, "target_c": 20.0}');
INSERT INTO "alarm_transition" VALUES(11,3,'["no-reading", "bucket", "28-00000a1b2c3d", null]',1795595180000,'raised','normal','unacknowledged','nothing since 08:25, when it was 22.8 C','{"silent_s": 30, "limit_s": 30.0, "last_c": 22.8}');
INSERT INTO "alarm_transition" VALUES(12,NULL,'["probe-fault", "bucket", "28-00000a1b2c3d", null]',1795595190000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(13,NULL,'["probe-frozen", "bucket", "28-00000a1b2c3d", null]',1795595190000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
INSERT INTO "alarm_transition" VALUES(14,NULL,'["probe-adrift", "bucket", "28-00000a1b2c3d", null]',1795595190000,'suppressed','normal','normal','Suppressed: the probe is silent, which is an alarm of its own','{}');
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE answered (
	"key" TEXT NOT NULL, 
	fingerprint TEXT NOT NULL, 
	status INTEGER NOT NULL, 
	headers JSON NOT NULL, 
	body TEXT NOT NULL, 
	at BIGINT NOT NULL, 
	CONSTRAINT pk_answered PRIMARY KEY ("key")
);
INSERT INTO "answered" VALUES('once','c6547cc0e5b33a29a1a278317b0fb32bc731210ded7eac149ba34761961aa3bd',201,'{"content-type": "application/json", "location": "/api/v1/batches/stair-brown-2026-11-25/notes/2"}','{"n":2,"at":"2026-11-25T08:26:00Z","text":"Once"}',1795595160000);
CREATE TABLE assignment (
	id INTEGER NOT NULL, 
	probe_id TEXT NOT NULL, 
	vessel_id TEXT NOT NULL, 
	role TEXT NOT NULL, 
	from_at BIGINT NOT NULL, 
	to_at BIGINT, 
	CONSTRAINT pk_assignment PRIMARY KEY (id), 
	CONSTRAINT fk_assignment_probe_id_probe FOREIGN KEY(probe_id) REFERENCES probe (id), 
	CONSTRAINT fk_assignment_vessel_id_vessel FOREIGN KEY(vessel_id) REFERENCES vessel (id)
);
INSERT INTO "assignment" VALUES(1,'28-00000a1b2c3d','bucket','liquid',1795593600000,NULL);
INSERT INTO "assignment" VALUES(2,'cupboard','bucket','surroundings',1795593600000,NULL);
CREATE TABLE audit (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	at BIGINT NOT NULL, 
	who TEXT NOT NULL, 
	how TEXT NOT NULL, 
	peer TEXT NOT NULL, 
	did TEXT NOT NULL, 
	fields JSON NOT NULL
);
INSERT INTO "audit" VALUES(1,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/vessels','["name", "volume_l"]');
INSERT INTO "audit" VALUES(2,1795593600000,'the brewer','this machine','127.0.0.1','PATCH /api/v1/probes/28-00000a1b2c3d','["vessel_id", "role"]');
INSERT INTO "audit" VALUES(3,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches','["name", "vessel_id", "plan", "og", "expected_fg"]');
INSERT INTO "audit" VALUES(4,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/channels','["kind", "name", "url"]');
INSERT INTO "audit" VALUES(5,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/plans','["name", "stages"]');
INSERT INTO "audit" VALUES(6,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/probes','["label", "vessel_id", "role", "interval_s", "source"]');
INSERT INTO "audit" VALUES(7,1795593600000,'the brewer','this machine','127.0.0.1','POST /api/v1/probes/28-00000a1b2c3d/calibrations','["method", "reference_c", "reading_c"]');
INSERT INTO "audit" VALUES(8,1795594260000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/readings','["sg"]');
INSERT INTO "audit" VALUES(9,1795594260000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/notes','["text"]');
INSERT INTO "audit" VALUES(10,1795594260000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/sightings','["what"]');
INSERT INTO "audit" VALUES(11,1795594260000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/additions','["what", "mass_g", "extract_share"]');
INSERT INTO "audit" VALUES(12,1795595160000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/packagings','["units", "sugar", "sugar_g"]');
INSERT INTO "audit" VALUES(13,1795595160000,'the brewer','this machine','127.0.0.1','POST /api/v1/vessels/bucket/heater','["changes"]');
INSERT INTO "audit" VALUES(14,1795595160000,'the brewer','this machine','127.0.0.1','POST /api/v1/absences','["from", "to", "channel_id", "note"]');
INSERT INTO "audit" VALUES(15,1795595160000,'the brewer','this machine','127.0.0.1','PATCH /api/v1/batches/stair-brown-2026-11-25/stages/1','["lasts_s"]');
INSERT INTO "audit" VALUES(16,1795595160000,'the brewer','this machine','127.0.0.1','POST /api/v1/batches/stair-brown-2026-11-25/notes','["text"]');
INSERT INTO "audit" VALUES(17,1795593600000,'Attic','session','127.0.0.1','POST /vessels','["name"]');
CREATE TABLE batch (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	plan_id TEXT, 
	"plan" JSON NOT NULL, 
	course JSON NOT NULL, 
	state TEXT NOT NULL, 
	volume_l FLOAT, 
	og FLOAT, 
	expected_fg FLOAT, 
	yeast JSON, 
	started_at BIGINT NOT NULL, 
	version INTEGER NOT NULL, 
	created_at BIGINT NOT NULL, 
	CONSTRAINT pk_batch PRIMARY KEY (id)
);
INSERT INTO "batch" VALUES('stair-brown-2026-11-25','Stair brown',NULL,'{"name": "Stair brown", "stages": [{"key": "primary", "kind": "primary", "target_c": 20.0, "low_c": 18.5, "high_c": 21.5, "band": "absolute", "lasts_s": 777600.0, "ends": "steady-gravity", "share": null, "reach_within_s": 21600.0, "alarm_after_s": 600.0, "clear_after_s": 600.0, "deadband_c": 0.3, "warm_priority": "by-phase", "cold_priority": "by-phase", "overdue_after_s": 86400.0, "prompts": []}, {"key": "cold", "kind": "crash", "target_c": 4.0, "low_c": null, "high_c": null, "band": "absolute", "lasts_s": 172800.0, "ends": "brewer", "share": null, "reach_within_s": 172800.0, "alarm_after_s": 3600.0, "clear_after_s": 3600.0, "deadband_c": 0.5, "warm_priority": "low", "cold_priority": "high", "overdue_after_s": 86400.0, "prompts": []}]}','{"steps": [{"n": 1, "stage": "primary", "entered_at": "2026-11-25T08:00:00Z", "left_at": null, "lasts_s": 800000.0, "how": "start"}], "state": "running", "pitched_at": "2026-11-25T08:00:00Z", "ended_at": null}','running',5.0,1.048,1.011,'null',1795593600000,2,1795593600000);
CREATE TABLE batch_change (
	id INTEGER NOT NULL, 
	batch_id TEXT NOT NULL, 
	at BIGINT NOT NULL, 
	what TEXT NOT NULL, 
	"before" JSON NOT NULL, 
	undone_at BIGINT, 
	CONSTRAINT pk_batch_change PRIMARY KEY (id), 
	CONSTRAINT fk_batch_change_batch_id_batch FOREIGN KEY(batch_id) REFERENCES batch (id)
);
INSERT INTO "batch_change" VALUES(1,'stair-brown-2026-11-25',1795595160000,'amend stage 1','{"course": {"steps": [{"n": 1, "stage": "primary", "entered_at": "2026-11-25T08:00:00Z", "left_at": null, "lasts_s": 777600.0, "how": "start"}], "state": "running", "pitched_at": "2026-11-25T08:00:00Z", "ended_at": null}, "state": "running", "places": [["bucket", "2026-11-25T08:00:00+00:00", null]]}',NULL);
CREATE TABLE calibration (
	id INTEGER NOT NULL, 
	probe_id TEXT NOT NULL, 
	from_at BIGINT NOT NULL, 
	slope FLOAT NOT NULL, 
	offset_c FLOAT NOT NULL, 
	uncertainty_c FLOAT, 
	points JSON NOT NULL, 
	created_at BIGINT NOT NULL, 
	CONSTRAINT pk_calibration PRIMARY KEY (id), 
	CONSTRAINT fk_calibration_probe_id_probe FOREIGN KEY(probe_id) REFERENCES probe (id)
);
INSERT INTO "calibration" VALUES(1,'28-00000a1b2c3d',1795593600000,1.0,1.99999999999999289457e-01,2.34523703520605475425e-01,'[{"reading_c": 20.0, "reference_c": 20.2, "uncertainty_c": 0.1}]',1795593600000);
CREATE TABLE channel (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	config JSON NOT NULL, 
	quiet_hours JSON, 
	least_priority TEXT NOT NULL, 
	for_helper BOOLEAN NOT NULL, 
	digest_at TEXT, 
	created_at BIGINT NOT NULL, 
	removed_at BIGINT, 
	CONSTRAINT pk_channel PRIMARY KEY (id)
);
INSERT INTO "channel" VALUES('hall','Hall','webhook','{"kind": "webhook", "url": "http://127.0.0.1:9/hook/s3cret"}','null','low',0,NULL,1795593600000,NULL);
CREATE TABLE doubtful (
	id INTEGER NOT NULL, 
	from_at BIGINT NOT NULL, 
	to_at BIGINT NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_doubtful PRIMARY KEY (id)
);
INSERT INTO "doubtful" VALUES(1,1795593600000,1795594140000,'the clock was not set');
CREATE TABLE entry (
	id INTEGER NOT NULL, 
	batch_id TEXT NOT NULL, 
	list TEXT NOT NULL, 
	n INTEGER NOT NULL, 
	at BIGINT NOT NULL, 
	body JSON NOT NULL, 
	created_at BIGINT NOT NULL, 
	removed_at BIGINT, 
	CONSTRAINT pk_entry PRIMARY KEY (id), 
	CONSTRAINT fk_entry_batch_id_batch FOREIGN KEY(batch_id) REFERENCES batch (id), 
	CONSTRAINT uq_entry_batch_id_list_n UNIQUE (batch_id, list, n)
);
INSERT INTO "entry" VALUES(1,'stair-brown-2026-11-25','readings',1,1795594260000,'{"by": "hydrometer", "sg": 1.046, "sample_c": 20.0, "instrument_c": 20.0, "zero_error_pt": 0.0, "degassed": true, "wort_factor": 1.04}',1795594260000,NULL);
INSERT INTO "entry" VALUES(2,'stair-brown-2026-11-25','notes',1,1795594260000,'{"text": "Smells of <b>bread</b> & \ud83c\udf5e, \"quoted\"; a, b\nsecond"}',1795594260000,NULL);
INSERT INTO "entry" VALUES(3,'stair-brown-2026-11-25','sightings',1,1795594260000,'{"what": "foam-up"}',1795594260000,NULL);
INSERT INTO "entry" VALUES(4,'stair-brown-2026-11-25','additions',1,1795594260000,'{"what": "Candi sugar", "mass_g": 100.0, "extract_share": 1.0, "fermentable_share": 1.0, "water_l": 0.0}',1795594260000,NULL);
INSERT INTO "entry" VALUES(5,'stair-brown-2026-11-25','packagings',1,1795595160000,'{"units": [{"kind": "bottle", "size_l": 0.5, "count": 9, "material": null}], "sugar": "white", "sugar_g": 25.0}',1795595160000,NULL);
INSERT INTO "entry" VALUES(6,'stair-brown-2026-11-25','notes',2,1795595160000,'{"text": "Once"}',1795595160000,NULL);
CREATE TABLE estimate (
	batch_id TEXT NOT NULL, 
	at BIGINT NOT NULL, 
	body JSON NOT NULL, 
	CONSTRAINT pk_estimate PRIMARY KEY (batch_id, at), 
	CONSTRAINT fk_estimate_batch_id_batch FOREIGN KEY(batch_id) REFERENCES batch (id)
);
INSERT INTO "estimate" VALUES('stair-brown-2026-11-25',1795593900000,'{"verdict": "waiting", "share": null}');
CREATE TABLE fault (
	probe_id TEXT NOT NULL, 
	hour INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	count INTEGER NOT NULL, 
	last_at BIGINT NOT NULL, 
	detail TEXT NOT NULL, 
	CONSTRAINT pk_fault PRIMARY KEY (probe_id, hour, kind)
);
INSERT INTO "fault" VALUES('28-00000a1b2c3d',498776,'crc',8,1795595230000,'');
CREATE TABLE heater (
	vessel_id TEXT NOT NULL, 
	at BIGINT NOT NULL, 
	"on" BOOLEAN NOT NULL, 
	CONSTRAINT pk_heater PRIMARY KEY (vessel_id, at), 
	CONSTRAINT fk_heater_vessel_id_vessel FOREIGN KEY(vessel_id) REFERENCES vessel (id)
);
INSERT INTO "heater" VALUES('bucket',1795595100000,1);
CREATE TABLE hour (
	probe SMALLINT NOT NULL, 
	hour INTEGER NOT NULL, 
	sum_mc BIGINT NOT NULL, 
	minutes SMALLINT NOT NULL, 
	min_mc INTEGER NOT NULL, 
	max_mc INTEGER NOT NULL, 
	CONSTRAINT pk_hour PRIMARY KEY (probe, hour)
)
 WITHOUT ROWID

;
INSERT INTO "hour" VALUES(1,498776,559000,26,20000,22600);
INSERT INTO "hour" VALUES(2,498776,17500,1,17500,17500);
CREATE TABLE mark (
	name TEXT NOT NULL, 
	value JSON NOT NULL, 
	CONSTRAINT pk_mark PRIMARY KEY (name)
);
INSERT INTO "mark" VALUES('link-key','"f3fed7c2f03d057ed7bbf9a94d30d9dc5db792a17fcdd8bee51a8b136bcda5fd"');
INSERT INTO "mark" VALUES('last-commit','"2026-11-25T08:27:20+00:00"');
INSERT INTO "mark" VALUES('band:stair-brown-2026-11-25','{"step": 1, "reached_at": "2026-11-25T08:00:00+00:00"}');
CREATE TABLE message (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	channel_id TEXT NOT NULL, 
	vessel_id TEXT, 
	reason TEXT NOT NULL, 
	priority TEXT NOT NULL, 
	vessel TEXT, 
	title TEXT NOT NULL, 
	text TEXT NOT NULL, 
	alarms JSON NOT NULL, 
	at BIGINT NOT NULL, 
	state TEXT NOT NULL, 
	next_at BIGINT, 
	attempts INTEGER NOT NULL, 
	first_failed_at BIGINT, 
	done_at BIGINT, 
	took_ms INTEGER, 
	far_end TEXT, 
	CONSTRAINT fk_message_channel_id_channel FOREIGN KEY(channel_id) REFERENCES channel (id)
);
INSERT INTO "message" VALUES(1,'hall','bucket','first','low','Bucket','Bucket: no reading','No reading: nothing believed for 3 min.
What it means: Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.
What to do: Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.
Caution: Keep mains equipment and its leads dry. Repairs to it are for a qualified person, by your local codes.
Answer by 09:03.
Acknowledge: http://127.0.0.1:8330/acknowledge/MTc5NjE5ODU4MCBhLTEgaGFsbA.vHcHaoiuwvTn3YA78HHmGtNBoLPmtARswECQIZlZBpg','[{"id": "a-1", "key": "no-reading", "vessel_id": "bucket", "batch_id": "stair-brown-2026-11-25", "probe_id": "cupboard", "stage": "primary", "state": "unacknowledged", "shelved_until": null, "suppressed_by": null, "out_of_service": false, "priority": "low", "raised_at": "2026-11-25T08:03:00Z", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "reason": "nothing believed for 3 min", "unknown_since": null, "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:03:00Z"}]',1795593780000,'waiting',1795593840000,0,NULL,NULL,NULL,NULL);
INSERT INTO "message" VALUES(2,'hall','bucket','returned','low','Bucket','Bucket: no reading (over)','No reading: over since 08:12. Readings arrive.
It was: nothing believed for 11 min.
Acknowledge: http://127.0.0.1:8330/acknowledge/MTc5NjE5OTEyMCBhLTEgaGFsbA.hqkbkFu0yr9Igkyw8v4zebYyx2vHbqs-JVP8CXqw1No','[{"id": "a-1", "key": "no-reading", "vessel_id": "bucket", "batch_id": "stair-brown-2026-11-25", "probe_id": "cupboard", "stage": "primary", "state": "returned-unacknowledged", "shelved_until": null, "suppressed_by": null, "out_of_service": false, "priority": "low", "raised_at": "2026-11-25T08:03:00Z", "acknowledged_at": null, "acknowledged_by": null, "returned_at": "2026-11-25T08:12:00Z", "reason": "nothing believed for 11 min", "unknown_since": null, "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:03:00Z"}]',1795594320000,'waiting',1795594380000,0,NULL,NULL,NULL,NULL);
INSERT INTO "message" VALUES(3,'hall','bucket','first','high','Bucket','Bucket: too warm (urgent)','Too warm: 22.8 C since 08:11, 1.3 C over the band. The band is 18.5 C to 21.5 C.
What it means: In the first days warmth brings harsh, fruity and solvent-like flavours that stay in the beer; later it matters less.
What to do: Move the vessel somewhere cooler, take lagging off, or wrap it in a wet cloth in moving air. Set one frozen half-litre bottle against it and look again in two hours.
Caution: Carbon dioxide gathers in cupboards, fridges and low rooms: open the door and air it before you lean in.
Answer by 10:21.
Acknowledge: http://127.0.0.1:8330/acknowledge/MTc5NjE5OTY2MCBhLTIgaGFsbA.bpo66eqg2AriQtHftEdjqNOXq6K22suOo95JlRYmp54','[{"id": "a-2", "key": "above-band", "vessel_id": "bucket", "batch_id": "stair-brown-2026-11-25", "probe_id": "28-00000a1b2c3d", "stage": "primary", "state": "unacknowledged", "shelved_until": null, "suppressed_by": null, "out_of_service": false, "priority": "high", "raised_at": "2026-11-25T08:21:00Z", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "reason": "22.8 C since 08:11, 1.3 C over the band", "unknown_since": null, "consequence": "In the first days warmth brings harsh, fruity and solvent-like flavours that stay in the beer; later it matters less.", "advice": "Move the vessel somewhere cooler, take lagging off, or wrap it in a wet cloth in moving air. Set one frozen half-litre bottle against it and look again in two hours.", "respond_by": "2026-11-25T10:21:00Z"}]',1795594860000,'waiting',1795594860000,0,NULL,NULL,NULL,NULL);
INSERT INTO "message" VALUES(4,'hall','bucket','first','low','Bucket','Bucket: no reading','No reading: nothing since 08:10, when it was 17.5 C.
What it means: Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.
What to do: Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.
Caution: Keep mains equipment and its leads dry. Repairs to it are for a qualified person, by your local codes.
Answer by 09:13.
Acknowledge: http://127.0.0.1:8330/acknowledge/MTc5NjE5OTcyMCBhLTEgaGFsbA.TW9C7BtZAU7EsGzRdNmmnQ09t5j6HgS2PkCk_y7qTVw','[{"id": "a-1", "key": "no-reading", "vessel_id": "bucket", "batch_id": "stair-brown-2026-11-25", "probe_id": "cupboard", "stage": "primary", "state": "unacknowledged", "shelved_until": null, "suppressed_by": null, "out_of_service": false, "priority": "low", "raised_at": "2026-11-25T08:03:00Z", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "reason": "nothing since 08:10, when it was 17.5 C", "unknown_since": null, "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:13:30Z"}]',1795594920000,'waiting',1795594980000,0,NULL,NULL,NULL,NULL);
INSERT INTO "message" VALUES(5,'hall','bucket','first','high','Bucket','Bucket: no reading (urgent)','No reading: nothing since 08:25, when it was 22.8 C.
What it means: Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.
What to do: Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.
Caution: Keep mains equipment and its leads dry. Repairs to it are for a qualified person, by your local codes.
Answer by 09:26.
Acknowledge: http://127.0.0.1:8330/acknowledge/MTc5NjE5OTk4MCBhLTMgaGFsbA.NBQfkk1WwAcnmos8U9ZOc-LYIa5jvM9uBXDr4Am84_c','[{"id": "a-3", "key": "no-reading", "vessel_id": "bucket", "batch_id": "stair-brown-2026-11-25", "probe_id": "28-00000a1b2c3d", "stage": "primary", "state": "unacknowledged", "shelved_until": null, "suppressed_by": null, "out_of_service": false, "priority": "high", "raised_at": "2026-11-25T08:26:20Z", "acknowledged_at": null, "acknowledged_by": null, "returned_at": null, "reason": "nothing since 08:25, when it was 22.8 C", "unknown_since": null, "consequence": "Nobody is watching this vessel: no temperature alarm can be raised or cleared until it is back.", "advice": "Look at the probe, its plug and its cable; for a probe that sends by itself, at its power and network. `gylewatch probes` shows what is on the bus.", "respond_by": "2026-11-25T09:26:20Z"}]',1795595180000,'waiting',1795595180000,0,NULL,NULL,NULL,NULL);
CREATE TABLE minute (
	probe SMALLINT NOT NULL, 
	minute INTEGER NOT NULL, 
	mean_mc INTEGER NOT NULL, 
	below_mc INTEGER NOT NULL, 
	above_mc INTEGER NOT NULL, 
	count INTEGER NOT NULL, 
	CONSTRAINT pk_minute PRIMARY KEY (probe, minute)
)
 WITHOUT ROWID

;
INSERT INTO "minute" VALUES(1,29926560,20000,0,0,7);
INSERT INTO "minute" VALUES(1,29926561,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926562,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926563,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926564,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926565,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926566,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926567,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926568,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926569,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926570,20000,0,0,6);
INSERT INTO "minute" VALUES(1,29926571,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926572,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926573,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926574,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926575,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926576,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926577,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926578,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926579,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926580,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926581,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926582,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926583,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926584,22600,0,0,6);
INSERT INTO "minute" VALUES(1,29926585,22600,0,0,6);
INSERT INTO "minute" VALUES(2,29926570,17500,0,0,1);
CREATE TABLE place (
	batch_id TEXT NOT NULL, 
	n INTEGER NOT NULL, 
	vessel_id TEXT NOT NULL, 
	from_at BIGINT NOT NULL, 
	to_at BIGINT, 
	CONSTRAINT pk_place PRIMARY KEY (batch_id, n), 
	CONSTRAINT fk_place_batch_id_batch FOREIGN KEY(batch_id) REFERENCES batch (id), 
	CONSTRAINT fk_place_vessel_id_vessel FOREIGN KEY(vessel_id) REFERENCES vessel (id)
);
INSERT INTO "place" VALUES('stair-brown-2026-11-25',1,'bucket',1795593600000,NULL);
CREATE TABLE "plan" (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	body JSON NOT NULL, 
	version INTEGER NOT NULL, 
	created_at BIGINT NOT NULL, 
	changed_at BIGINT NOT NULL, 
	CONSTRAINT pk_plan PRIMARY KEY (id)
);
INSERT INTO "plan" VALUES('kept','Kept','{"name": "Kept", "stages": [{"key": "p", "kind": "primary", "target_c": 19.0, "low_c": null, "high_c": null, "band": "absolute", "lasts_s": null, "ends": "brewer", "share": null, "reach_within_s": 21600.0, "alarm_after_s": 600.0, "clear_after_s": 600.0, "deadband_c": 0.3, "warm_priority": "by-phase", "cold_priority": "by-phase", "overdue_after_s": 86400.0, "prompts": []}]}',1,1795593600000,1795593600000);
CREATE TABLE probe (
	id TEXT NOT NULL, 
	number SMALLINT NOT NULL, 
	label TEXT NOT NULL, 
	source TEXT NOT NULL, 
	address TEXT, 
	mounting TEXT, 
	interval_s FLOAT, 
	resolution_bits SMALLINT, 
	topic TEXT, 
	path TEXT, 
	time_path TEXT, 
	created_at BIGINT NOT NULL, 
	removed_at BIGINT, 
	CONSTRAINT pk_probe PRIMARY KEY (id), 
	CONSTRAINT uq_probe_number UNIQUE (number)
);
INSERT INTO "probe" VALUES('28-00000a1b2c3d',1,'28-00000a1b2c3d','onewire','28-00000a1b2c3d',NULL,NULL,NULL,NULL,NULL,NULL,1795593600000,NULL);
INSERT INTO "probe" VALUES('cupboard',2,'Cupboard','pushed',NULL,NULL,60.0,NULL,NULL,NULL,NULL,1795593600000,NULL);
CREATE TABLE pushed (
	probe SMALLINT NOT NULL, 
	at_ms BIGINT NOT NULL, 
	raw_mc INTEGER NOT NULL, 
	fault TEXT, 
	CONSTRAINT pk_pushed PRIMARY KEY (probe, at_ms)
)
 WITHOUT ROWID

;
INSERT INTO "pushed" VALUES(2,1795594230000,17500,NULL);
CREATE TABLE said (
	channel_id TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	memory JSON NOT NULL, 
	CONSTRAINT pk_said PRIMARY KEY (channel_id, subject), 
	CONSTRAINT fk_said_channel_id_channel FOREIGN KEY(channel_id) REFERENCES channel (id)
);
INSERT INTO "said" VALUES('hall','["no-reading", "bucket", "cupboard", null]','{"episode": 2, "instance": 1, "shifted_s": 0.0, "first_spoken_at": "2026-11-25T08:22:00+00:00", "return_spoken_at": null, "last_spoken_at": "2026-11-25T08:22:00+00:00", "spoken_priority": "low", "reminders": 0, "next_reminder_at": "2026-11-25T20:22:00+00:00"}');
INSERT INTO "said" VALUES('hall','["above-band", "bucket", null, null]','{"episode": 1, "instance": 1, "shifted_s": 0.0, "first_spoken_at": "2026-11-25T08:21:00+00:00", "return_spoken_at": null, "last_spoken_at": "2026-11-25T08:21:00+00:00", "spoken_priority": "high", "reminders": 0, "next_reminder_at": "2026-11-25T08:36:00+00:00"}');
INSERT INTO "said" VALUES('hall','["no-reading", "bucket", "28-00000a1b2c3d", null]','{"episode": 1, "instance": 1, "shifted_s": 0.0, "first_spoken_at": "2026-11-25T08:26:20+00:00", "return_spoken_at": null, "last_spoken_at": "2026-11-25T08:26:20+00:00", "spoken_priority": "high", "reminders": 0, "next_reminder_at": "2026-11-25T08:41:20+00:00"}');
CREATE TABLE session (
	secret_hash TEXT NOT NULL, 
	account_id TEXT NOT NULL, 
	made_at BIGINT NOT NULL, 
	seen_at BIGINT NOT NULL, 
	peer TEXT NOT NULL, 
	CONSTRAINT pk_session PRIMARY KEY (secret_hash), 
	CONSTRAINT fk_session_account_id_account FOREIGN KEY(account_id) REFERENCES account (id)
);
INSERT INTO "session" VALUES('5e551045e551045e551045e551045e551045e551045e551045e551045e55104','attic',1795593600000,1795593600000,'127.0.0.1');
CREATE TABLE token (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	scope TEXT NOT NULL, 
	secret_hash TEXT NOT NULL, 
	made_at BIGINT NOT NULL, 
	made_by TEXT NOT NULL, 
	used_at BIGINT, 
	CONSTRAINT pk_token PRIMARY KEY (id), 
	CONSTRAINT uq_token_secret_hash UNIQUE (secret_hash)
);
INSERT INTO "token" VALUES('shed','Shed','push','70c370c370c370c370c370c370c370c370c370c370c370c370c370c370c370c3',1795593600000,'Attic',1795593600000);
CREATE TABLE undated_minute (
	boot_id TEXT NOT NULL, 
	boot_minute INTEGER NOT NULL, 
	probe SMALLINT NOT NULL, 
	mean_mc INTEGER NOT NULL, 
	below_mc INTEGER NOT NULL, 
	above_mc INTEGER NOT NULL, 
	count INTEGER NOT NULL, 
	CONSTRAINT pk_undated_minute PRIMARY KEY (boot_id, boot_minute, probe)
);
INSERT INTO "undated_minute" VALUES('boot-0',3,1,20000,62,0,6);
CREATE TABLE vessel (
	id TEXT NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	wall TEXT, 
	volume_l FLOAT, 
	near JSON NOT NULL, 
	created_at BIGINT NOT NULL, 
	removed_at BIGINT, 
	CONSTRAINT pk_vessel PRIMARY KEY (id)
);
INSERT INTO "vessel" VALUES('bucket','Bucket','fermenter',NULL,5.0,'[]',1795593600000,NULL);
CREATE INDEX ix_alarm_state ON alarm (state);
CREATE INDEX ix_alarm_vessel_id ON alarm (vessel_id);
CREATE INDEX ix_batch_state ON batch (state);
CREATE INDEX ix_alarm_transition_alarm_id ON alarm_transition (alarm_id);
CREATE INDEX ix_assignment_probe_id ON assignment (probe_id);
CREATE INDEX ix_assignment_vessel_id ON assignment (vessel_id);
CREATE INDEX ix_batch_change_batch_id ON batch_change (batch_id);
CREATE INDEX ix_calibration_probe_id ON calibration (probe_id);
CREATE INDEX ix_message_channel_id_vessel_id ON message (channel_id, vessel_id);
CREATE INDEX ix_message_state_next_at ON message (state, next_at);
CREATE INDEX ix_place_vessel_id ON place (vessel_id);
CREATE INDEX ix_session_account_id ON session (account_id);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('audit',17);
INSERT INTO "sqlite_sequence" VALUES('alarm',3);
INSERT INTO "sqlite_sequence" VALUES('message',5);
COMMIT;
