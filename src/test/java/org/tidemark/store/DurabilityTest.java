package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.sql.Connection;
import java.sql.ResultSet;
import java.sql.SQLException;
import java.sql.Statement;
import javax.sql.DataSource;
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
  void commitsAreNotDelayed() throws SQLException {
    try (Connection connection = dataSource.getConnection();
        Statement statement = connection.createStatement();
        ResultSet setting =
            statement.executeQuery(
                "select setting_value from information_schema.settings where setting_name = 'WRITE_DELAY'")) {
      assertTrue(setting.next());
      assertEquals("0", setting.getString(1));
    }
  }
}
