package org.tidemark.store;

import io.quarkus.flyway.FlywayConfigurationCustomizer;
import io.quarkus.flyway.FlywayDataSource;
import jakarta.enterprise.inject.Produces;
import jakarta.inject.Singleton;
import java.util.Arrays;
import org.flywaydb.core.Flyway;
import org.flywaydb.core.api.FlywayException;
import org.flywaydb.core.api.MigrationInfo;
import org.flywaydb.core.api.MigrationInfoService;
import org.flywaydb.core.api.MigrationState;
import org.flywaydb.core.api.MigrationVersion;
import org.flywaydb.core.api.callback.BaseCallback;
import org.flywaydb.core.api.callback.Context;
import org.flywaydb.core.api.callback.Event;

/**
 * Refuses a database that a newer version of the service has migrated: what that version keeps
 * there, this one might overlook or overwrite.
 */
final class NewerSchema extends BaseCallback {

  /** Has every migration at a start ask it first. */
  static final class Everywhere {
    @Produces
    @Singleton
    @FlywayDataSource(ChosenDatabase.H2)
    FlywayConfigurationCustomizer embedded() {
      return flyway -> flyway.callbacks(new NewerSchema(), new MigrationCopy());
    }

    @Produces
    @Singleton
    @FlywayDataSource(ChosenDatabase.POSTGRESQL)
    FlywayConfigurationCustomizer server() {
      return flyway -> flyway.callbacks(new NewerSchema());
    }
  }

  @Override
  public boolean supports(Event event, Context context) {
    return event == Event.BEFORE_VALIDATE;
  }

  @Override
  public void handle(Event event, Context context) {
    MigrationInfoService schema = new Flyway(context.getConfiguration()).info();
    boolean newer =
        Arrays.stream(schema.applied())
            .map(MigrationInfo::getState)
            .anyMatch(
                state ->
                    state == MigrationState.FUTURE_SUCCESS
                        || state == MigrationState.FUTURE_FAILED);
    if (newer) {
      throw new FlywayException(
          ("The database has schema %s, and this version of the service knows %s at most. Start the"
                  + " version that was used last, or restore a backup from before it.")
              .formatted(schema.current().getVersion(), newestKnown(schema)));
    }
  }

  private static MigrationVersion newestKnown(MigrationInfoService schema) {
    return Arrays.stream(schema.all())
        .filter(migration -> migration.getState().isResolved())
        .map(MigrationInfo::getVersion)
        .filter(version -> version != null)
        .max(MigrationVersion::compareTo)
        .orElse(MigrationVersion.EMPTY);
  }
}
