package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.SQLException;
import java.sql.Statement;
import javax.sql.DataSource;
import org.h2.engine.SessionLocal;
import org.h2.jdbc.JdbcConnection;
import org.h2.mvstore.MVStore;
import org.h2.store.fs.FilePath;
import org.junit.jupiter.api.Test;

/** The embedded database acknowledges only what the disk has. */
@QuarkusTest
class DurabilityTest {
  @Inject DataSource dataSource;

  @Test
  void theDatabaseLiesOnAFileSystemThatForcesEachWrite() throws SQLException {
    try (Connection connection = dataSource.getConnection()) {
      String url = connection.getMetaData().getURL();
      assertTrue(url.startsWith("jdbc:h2:" + DurableH2Driver.SCHEME + ":"), url);
      String file = url.substring("jdbc:h2:".length()).split(";")[0] + ".mv.db";
      FilePath path = FilePath.get(file);
      assertEquals(DurableH2Driver.ForcedPath.class, path.getClass());
      assertTrue(path.exists(), file);
    }
  }

  @Test
  void whatIsCommittedIsOnTheDisk() throws SQLException {
    try (Connection connection = dataSource.getConnection()) {
      MVStore store =
          ((SessionLocal) connection.unwrap(JdbcConnection.class).getSession())
              .getDatabase()
              .getStore()
              .getMvStore();
      connection.setAutoCommit(false);
      try (Statement statement = connection.createStatement()) {
        statement.execute("create table if not exists on_the_disk (id int)");
        connection.commit();
        statement.execute("insert into on_the_disk values (1)");
        assertTrue(store.hasUnsavedChanges());
        connection.commit();
        assertFalse(store.hasUnsavedChanges());
        statement.execute("drop table on_the_disk");
        connection.commit();
      }
    }
  }
}
