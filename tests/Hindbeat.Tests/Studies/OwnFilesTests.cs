using Hindbeat.Studies;
using Hindbeat.Tests.Takes;
using Hindbeat.Takes;
using Microsoft.Data.Sqlite;

namespace Hindbeat.Tests.Studies;

/// <summary>What the library keeps beside its file goes when nothing needs it, and not a file sooner.</summary>
public sealed class OwnFilesTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("hindbeat-own-");
    private byte _drawn;

    public void Dispose() => _folder.Delete(true);

    [Fact]
    public void A_take_s_sound_goes_with_its_study_and_every_other_stays()
    {
        StudyLibrary library = Open();
        var files = new OwnFiles(library);
        string recording = Put(files.Recordings), sound = Put(files.Takes, ".wav"), otherSound = Put(files.Takes, ".wav");
        Study study = library.Save(SampleStudies.Of("Going") with { Source = recording });
        Study other = library.Save(SampleStudies.Of("Staying"));
        Keep(library, study, sound);
        Keep(library, other, otherSound);
        Assert.Equal(0, files.RemoveUnused());
        Assert.True(library.Delete(study.Id));
        Assert.Equal(2, files.RemoveUnused());
        Assert.Equal((false, false, true), (File.Exists(recording), File.Exists(sound), File.Exists(otherSound)));
    }

    [Fact]
    public void Only_the_named_are_removed_and_never_one_that_is_still_needed()
    {
        StudyLibrary library = Open();
        var files = new OwnFiles(library);
        string used = Put(files.Takes, ".wav"), unused = Put(files.Takes, ".wav"), underWay = Put(files.Recordings);
        Keep(library, library.Save(SampleStudies.Of()), used);
        Assert.Equal(1, files.RemoveUnused([used, unused, "/elsewhere/late tram home.wav"]));
        Assert.Equal((true, false, true), (File.Exists(used), File.Exists(unused), File.Exists(underWay)));
    }

    [Fact]
    public void What_somebody_else_put_there_stays_and_what_was_half_written_goes()
    {
        StudyLibrary library = Open();
        var files = new OwnFiles(library);
        string half = Put(files.Takes, ".wav.part");
        string own = Path.Combine(files.Takes, "my take.wav");
        File.WriteAllText(own, "mine");
        Assert.Equal(1, files.RemoveUnused());
        Assert.Equal((false, true), (File.Exists(half), File.Exists(own)));
    }

    [Fact]
    public void A_damaged_study_keeps_its_recording_and_a_damaged_take_its_sound()
    {
        StudyLibrary library = Open();
        var files = new OwnFiles(library);
        string recording = Put(files.Recordings), sound = Put(files.Takes, ".wav");
        Keep(library, library.Save(SampleStudies.Of() with { Source = recording }), sound);
        using (var connection = new SqliteConnection($"Data Source={Path.Combine(library.Folder, StudyLibrary.FileName)};Pooling=False"))
        {
            connection.Open();
            using SqliteCommand command = connection.CreateCommand();
            command.CommandText = "UPDATE studies SET body = '{{' || body; UPDATE takes SET body = '{{' || body";
            command.ExecuteNonQuery();
        }

        Assert.Equal(0, files.RemoveUnused());
        Assert.True(File.Exists(recording) && File.Exists(sound));
    }

    /// <summary>"One folder of yours: copy it to keep it": the copy needs its recordings as the first did, and finds them.</summary>
    [Fact]
    public void A_library_moved_elsewhere_keeps_its_recordings_and_finds_them()
    {
        string first = Path.Combine(_folder.FullName, "first"), second = Path.Combine(_folder.FullName, "second");
        StudyLibrary library = StudyLibrary.Open(first);
        string recording = Put(new OwnFiles(library).Recordings), sound = Put(new OwnFiles(library).Takes, ".wav");
        Study study = library.Save(SampleStudies.Of() with { Source = recording });
        Keep(library, study, sound);
        Directory.Move(first, second);
        StudyLibrary moved = StudyLibrary.Open(second);
        var files = new OwnFiles(moved);
        Assert.Equal(0, files.RemoveUnused());
        string here = Path.Combine(files.Recordings, Path.GetFileName(recording));
        Assert.Equal(here, moved.Load(study.Id)!.Source);
        Assert.Equal(here, moved.Change(study.Id, found => StudyHistory.Do(found, new Tagged(["moved"])))!.Source);
        // A recording of the user's own is never looked for elsewhere.
        Assert.Null(files.Here(Path.Combine(first, "late tram home.wav")));
        Assert.Equal(here, files.Here(@"C:\library\recordings\" + Path.GetFileName(recording)));
    }

    private StudyLibrary Open() => StudyLibrary.Open(_folder.FullName);

    private string Put(string folder, string end = "")
    {
        byte[] chance = new byte[OwnFiles.NameBytes];
        chance[^1] = ++_drawn;
        string path = OwnFiles.NewPath(folder, chance) + end;
        File.WriteAllText(path, "sound");
        return path;
    }

    private static void Keep(StudyLibrary library, Study study, string sound)
    {
        AlignedTake aligned = TakeAligner.Align(ChangedTake.Passage, ChangedTake.Play(1, 3));
        new TakeShelf(library).Keep(KeptTake.Of(study.Id, "monday", DateTimeOffset.UnixEpoch, sound, null, TakeComparison.Of(ChangedTake.Passage, aligned)));
    }
}
