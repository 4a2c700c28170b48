using System.Diagnostics;
using Hindbeat.Performances;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.Data.Sqlite;

namespace Hindbeat.Tests.Studies;

/// <summary>The library gives back what was saved, to several writers at once, and says what is wrong with its file.</summary>
public sealed class StudyLibraryTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("hindbeat-library-");

    public void Dispose() => _folder.Delete(true);

    /// <summary>Two at work on one study at once: each change is made to what is stored, so both are there afterwards.</summary>
    [Fact]
    public async Task Changes_made_at_the_same_time_are_all_kept()
    {
        StudyLibrary library = Open();
        Study saved = library.Save(SampleStudies.Of());
        await Task.WhenAll(Enumerable.Range(0, 12).Select(i => Task.Run(() =>
            Open().Change(saved.Id, study => StudyHistory.Do(study, new Tagged([.. study.Tags, $"tag {i}"]))))));
        Study after = library.Load(saved.Id)!;
        Assert.Equal(12, after.Changes.Count);
        Assert.Equal(Enumerable.Range(0, 12).Select(i => $"tag {i}").Order(), after.Tags.Order());
        Assert.Equal(after.Tags, library.List()[0].Tags);
    }

    [Fact]
    public void A_change_that_fails_changes_nothing_and_one_of_an_unknown_study_is_none()
    {
        StudyLibrary library = Open();
        Study saved = library.Save(SampleStudies.Of());
        Assert.Throws<InputException>(() => library.Change(saved.Id, _ => throw new InputException("No.")));
        Assert.Throws<ArgumentException>(() => library.Change(saved.Id, study => study with { Id = "other" }));
        Assert.Null(library.Change("no-such-study", study => study));
        Assert.Equal(StudyBody.Write(saved), StudyBody.Write(library.Load(saved.Id)!));
    }

    [Fact]
    public void The_list_holds_a_small_picture_of_the_mean_bar()
    {
        StudyLibrary library = Open();
        Study saved = library.Save(SampleStudies.Of());
        IReadOnlyList<PictureStroke> picture = library.List()[0].Picture;
        Hit kick = saved.Performance.Hits[0];
        double place = saved.Performance.Pulse.BeatsAt(kick.Time) / 4;
        Assert.Contains(picture, stroke => stroke.Piece == KitPiece.Kick && Math.Abs(stroke.Place - place) < 1e-4 && stroke.Share == 1);
        Assert.All(picture, stroke => Assert.InRange(stroke.Place, -0.1, 1.1));
    }

    [Fact]
    public void Answers_of_listening_tests_are_counted_by_question()
    {
        StudyLibrary library = Open();
        library.KeepAnswer("a", "swing", true, DateTimeOffset.UnixEpoch);
        library.KeepAnswer("a", "swing", false, DateTimeOffset.UnixEpoch);
        library.KeepAnswer("a", "lay-back", true, DateTimeOffset.UnixEpoch);
        library.KeepAnswer("b", "swing", true, DateTimeOffset.UnixEpoch);
        Assert.Equal((1, 2), library.Answers("a")["swing"]);
        Assert.Equal((1, 1), library.Answers("a")["lay-back"]);
        Assert.Empty(library.Answers("c"));
    }

    [Fact]
    public void A_study_comes_back_equal_in_every_field()
    {
        StudyLibrary library = Open();
        Study saved = library.Save(SampleStudies.Of());
        Study loaded = Open().Load(saved.Id)!;
        // Lists compare by identity in records, so the whole is compared as text, and the rest by value.
        Assert.Equal(StudyBody.Write(saved), StudyBody.Write(loaded));
        Assert.Equal((saved.Name, saved.Created, saved.Source, saved.From, saved.To, saved.RunnerUp, saved.Listener),
            (loaded.Name, loaded.Created, loaded.Source, loaded.From, loaded.To, loaded.RunnerUp, loaded.Listener));
        Assert.Equal(saved.Created.Offset, loaded.Created.Offset);
        Assert.Equal(saved.Performance.Hits, loaded.Performance.Hits);
        Assert.Equal(saved.Performance.Pulse.Beats, loaded.Performance.Pulse.Beats);
        Assert.Equal(saved.Doubts, loaded.Doubts);
        Assert.Equal(saved.Recording!.Doubts, loaded.Recording!.Doubts);
        Assert.Equal(saved.Feel.Doubts, loaded.Feel.Doubts);
        Assert.Equal(saved.Feel.Swing[0].Doubts, loaded.Feel.Swing[0].Doubts);
        Assert.Equal(saved.Feel.LayBack[1].Milliseconds, loaded.Feel.LayBack[1].Milliseconds);
        Assert.Equal(saved.Feel.Tempo.Curve, loaded.Feel.Tempo.Curve);
        Assert.Equal(saved.Feel.Options, loaded.Feel.Options);
        Assert.Equal(saved.Feel.Looseness[0].HabitShare, loaded.Feel.Looseness[0].HabitShare);
    }

    [Fact]
    public void The_list_shows_the_newest_first_from_columns_alone()
    {
        StudyLibrary library = Open();
        library.Save(SampleStudies.Of("Old", 1));
        library.Save(SampleStudies.Of("New", 9));
        library.Save(SampleStudies.WithoutSound("Middle") with { Created = SampleStudies.Of("Old", 5).Created });
        Execute("UPDATE studies SET body = 'unreadable'");
        IReadOnlyList<StudySummary> list = library.List();
        Assert.Equal(["New", "Middle", "Old"], list.Select(row => row.Name));
        StudySummary first = list[0];
        // Both strokes of the sample lie in one bar; the four empty bars of its pulse do not count.
        Assert.Equal(("4/4", 1, 1.62, 18.25, "take 3.mp3"), (first.Meter, first.Bars, first.SwingRatio!.Value, first.KickLayBackMs!.Value, first.File));
        Assert.Equal(101.3, first.Bpm, 6);
        Assert.Equal(9.6, first.Seconds, 9);
        // The snare's figure was marked as one that the recording cannot tell.
        Assert.Null(first.SnareLayBackMs);
        Assert.Equal((null, null, null), (list[1].SwingRatio, list[1].KickLayBackMs, list[1].File));
        Assert.Contains("damaged", Assert.Throws<InputException>(() => library.Load(first.Id)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Saving_again_replaces_and_deleting_removes()
    {
        StudyLibrary library = Open();
        Study study = library.Save(SampleStudies.Of());
        Assert.Equal(study.Id, library.Save(SampleStudies.Of()).Id);
        library.Save(study with { Name = "Renamed" });
        Assert.Equal("Renamed", Assert.Single(library.List()).Name);
        Assert.Equal("Renamed", library.Load(study.Id)!.Name);
        Assert.True(library.Delete(study.Id));
        Assert.False(library.Delete(study.Id));
        Assert.Null(library.Load(study.Id));
        Assert.Empty(library.List());
    }

    [Fact]
    public void Names_and_ids_are_data_never_commands()
    {
        StudyLibrary library = Open();
        string name = "'); DROP TABLE studies; -- \"\u0000 \U0001F941 ünïcode";
        Study study = library.Save(SampleStudies.Of(name));
        Assert.Equal(name, library.Load(study.Id)!.Name);
        Assert.Null(library.Load("' OR 1=1 --"));
        Assert.Throws<InputException>(() => library.Save(SampleStudies.Of(id: "../../etc")));
        Assert.Single(library.List());
    }

    [Fact]
    public void Writers_from_several_connections_lose_nothing()
    {
        Parallel.For(0, 4, writer =>
        {
            StudyLibrary library = Open();
            for (int i = 0; i < 12; i++)
                library.Save(SampleStudies.Of($"Writer {writer} study {i}"));
        });
        Assert.Equal(48, Open().List().Count);
    }

    [SkippableFact]
    public void A_second_process_that_writes_is_waited_for()
    {
        // A foreign program holds the write lock for a second while we save.
        Needs.Tool("python3");
        StudyLibrary library = Open();
        var start = new ProcessStartInfo("python3") { RedirectStandardOutput = true };
        start.ArgumentList.Add("-c");
        start.ArgumentList.Add($"""
            import sqlite3, time
            c = sqlite3.connect({System.Text.Json.JsonSerializer.Serialize(Path.Combine(library.Folder, StudyLibrary.FileName))}, isolation_level=None)
            c.execute('BEGIN IMMEDIATE')
            c.execute("INSERT INTO studies (id,name,created,created_utc,bpm,meter,bars,seconds,body) VALUES ('theirs','theirs','2026-01-01T00:00:00.0000000+00:00',1,1,'4/4',1,1,'x')")
            print('locked', flush=True)
            time.sleep(1)
            c.execute('COMMIT')
            """);
        using Process other = Process.Start(start)!;
        Assert.Equal("locked", other.StandardOutput.ReadLine());
        library.Save(SampleStudies.Of("Ours"));
        other.WaitForExit();
        Assert.Equal(["Ours", "theirs"], library.List().Select(row => row.Name));
    }

    [Fact]
    public void A_damaged_file_is_left_alone_and_named()
    {
        string path = Path.Combine(_folder.FullName, StudyLibrary.FileName);
        byte[] rubbish = [.. Enumerable.Range(0, 9000).Select(i => (byte)(i * 7))];
        File.WriteAllBytes(path, rubbish);
        Assert.Contains("damaged or not a library", Assert.Throws<InputException>(Open).Message, StringComparison.Ordinal);
        Assert.Equal(rubbish, File.ReadAllBytes(path));
    }

    [Fact]
    public void A_newer_form_is_refused_unchanged()
    {
        Open().Save(SampleStudies.Of());
        Execute("PRAGMA user_version = 99");
        Assert.Contains("newer Hindbeat", Assert.Throws<InputException>(Open).Message, StringComparison.Ordinal);
        Execute("PRAGMA user_version = 3");
        Assert.Single(Open().List());
    }

    [Fact]
    public void A_folder_that_cannot_be_made_is_named()
    {
        // A file stands where the folder should; that refuses even a superuser.
        string file = Path.Combine(_folder.FullName, "file");
        File.WriteAllText(file, "x");
        Assert.Contains("cannot be made", Assert.Throws<InputException>(() => StudyLibrary.Open(Path.Combine(file, "library"))).Message, StringComparison.Ordinal);
        Directory.CreateDirectory(Path.Combine(_folder.FullName, "b", StudyLibrary.FileName));
        Assert.Contains("cannot be opened", Assert.Throws<InputException>(() => StudyLibrary.Open(Path.Combine(_folder.FullName, "b"))).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_doubt_of_a_kind_that_is_gone_keeps_its_sentence()
    {
        StudyLibrary library = Open();
        Study study = library.Save(SampleStudies.Of());
        Execute("UPDATE studies SET body = replace(body, '\"SoundDamaged\"', '\"DoubtOfOldTimes\"')");
        Study loaded = library.Load(study.Id)!;
        KeptDoubt kept = Assert.IsType<KeptDoubt>(Assert.Single(loaded.Doubts));
        Assert.Equal(("DoubtOfOldTimes", study.Doubts[0].Text), (kept.Kind, kept.Text));
        library.Save(loaded);
        Assert.Equal(kept, Assert.Single(library.Load(study.Id)!.Doubts));
    }

    [Fact]
    public void Ids_are_short_plain_and_differ()
    {
        string id = StudyIds.For(SampleStudies.Of("Blüe Röom — Take #3 /../"));
        Assert.Matches("^ble-rom-take-3-[0-9a-z]{8}$", id);
        Assert.True(StudyIds.IsValid(id));
        Assert.NotEqual(id, StudyIds.For(SampleStudies.Of("Blüe Röom — Take #3 /../", 1)));
        Assert.Matches("^[0-9a-z]{8}$", StudyIds.For(SampleStudies.Of("ドラム")));
        Assert.InRange(StudyIds.For(SampleStudies.Of(new string('x', 500))).Length, 1, 60);
    }

    [Theory]
    [InlineData("Unix", "XDG_DATA_HOME=/data;HOME=/home/a", "/data/hindbeat")]
    [InlineData("Unix", "XDG_DATA_HOME=relative;HOME=/home/a", "/home/a/.local/share/hindbeat")]
    [InlineData("Unix", "HOME=/home/a", "/home/a/.local/share/hindbeat")]
    [InlineData("Mac", "HOME=/Users/a;XDG_DATA_HOME=/data", "/Users/a/Library/Application Support/hindbeat")]
    [InlineData("Windows", "LOCALAPPDATA=/c/local", "/c/local/hindbeat")]
    [InlineData("Unix", "", null)]
    [InlineData("Windows", "HOME=/home/a", null)]
    public void The_default_folder_is_the_users_own(string family, string environment, string? folder)
    {
        Dictionary<string, string> set = environment.Split(';', StringSplitOptions.RemoveEmptyEntries).Select(pair => pair.Split('=')).ToDictionary(pair => pair[0], pair => pair[1]);
        string Place() => LibraryPlace.Default(name => set.GetValueOrDefault(name), Enum.Parse<LibraryPlace.Family>(family)).Replace('\\', '/');
        if (folder is null)
            Assert.Throws<InputException>(Place);
        else
            Assert.Equal(folder, Place());
    }

    private StudyLibrary Open() => StudyLibrary.Open(_folder.FullName);

    private void Execute(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={Path.Combine(_folder.FullName, StudyLibrary.FileName)};Pooling=False");
        connection.Open();
        using SqliteCommand command = connection.CreateCommand();
#pragma warning disable CA2100 // The tests' own constant text.
        command.CommandText = sql;
#pragma warning restore CA2100
        command.ExecuteNonQuery();
    }
}
