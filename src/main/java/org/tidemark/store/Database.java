package org.tidemark.store;

import io.agroal.api.AgroalDataSource;
import io.quarkus.agroal.DataSource;
import io.quarkus.arc.InjectableInstance;
import io.quarkus.hibernate.orm.PersistenceUnit;
import jakarta.enterprise.inject.Produces;
import jakarta.inject.Singleton;
import org.hibernate.StatelessSession;

/** Gives the database that {@link ChosenDatabase} has started to all who need one. */
class Database {
  @Produces
  @Singleton
  StatelessSession session(
      @PersistenceUnit(ChosenDatabase.H2) InjectableInstance<StatelessSession> embedded,
      @PersistenceUnit(ChosenDatabase.POSTGRESQL) InjectableInstance<StatelessSession> server) {
    return active(embedded, server);
  }

  @Produces
  @Singleton
  AgroalDataSource connections(
      @DataSource(ChosenDatabase.H2) InjectableInstance<AgroalDataSource> embedded,
      @DataSource(ChosenDatabase.POSTGRESQL) InjectableInstance<AgroalDataSource> server) {
    return active(embedded, server);
  }

  private static <T> T active(InjectableInstance<T> embedded, InjectableInstance<T> server) {
    return (server.getHandle().getBean().isActive() ? server : embedded).get();
  }
}
