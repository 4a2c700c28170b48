using System.Text;
using Hindbeat.Feel;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class LessonSetTests
{
    private static readonly InventedPassage Passage = InventedPassage.Make(6);
    private static readonly FeelReport Feel = FeelAnalysis.Measure(Passage.Performance);
    private static readonly LessonSet Set = LessonSet.Prepare(Passage.Performance, Feel, LessonSet.Usual, HouseKit.Load(), new ClickOptions { CountInBars = 1, Through = false });

    [Fact]
    public void All_versions_are_equally_loud_and_under_the_ceiling()
    {
        StereoSound[] parts = [.. Enumerable.Range(0, Set.Parts.Count).Select(Sound)];
        double[] loudness = [.. parts.Select(Loudness.IntegratedLufs)];
        Assert.True(loudness.Max() - loudness.Min() < 0.1, string.Join(", ", loudness));
        Assert.All(parts, part => Assert.True(Loudness.TruePeakDbtp(part) <= -1));
    }

    [Fact]
    public void The_file_names_its_versions_at_their_first_frames()
    {
        using var stream = new MemoryStream();
        using (var writer = new WavWriter(stream, 44100, 24))
        {
            Set.Write(writer);
            writer.Complete();
        }

        (uint Frame, string Name)[] cues = ReadCues(stream.ToArray());
        Assert.Equal(Set.Parts.Select(part => part.Name), cues.Select(cue => cue.Name));
        long at = 0;
        for (int i = 0; i < cues.Length; i++)
        {
            Assert.Equal(at, cues[i].Frame);
            at += Set.FramesOf(i);
        }
    }

    [Fact]
    public void A_file_with_cue_points_is_read_like_one_without()
    {
        string path = Path.Combine(Path.GetTempPath(), $"{Guid.NewGuid():N}.wav");
        try
        {
            using (WavWriter writer = WavWriter.ToFile(path, 44100))
            {
                writer.AddCue("odd");
                writer.Write([0.5f, 0.25f], [0.5f, 0.25f]);
                writer.Complete();
            }

            Assert.Equal([0.5f, 0.25f], SoundLoader.LoadStereo(path).Left);
            byte[] bytes = File.ReadAllBytes(path);
            Assert.Equal(bytes.Length - 8, BitConverter.ToInt32(bytes, 4));
        }
        finally
        {
            File.Delete(path);
        }
    }

    [Fact]
    public void An_empty_set_is_refused() =>
        Assert.Throws<InputException>(() => LessonSet.Prepare(Passage.Performance, Feel, [], HouseKit.Load(), new ClickOptions()));

    private static StereoSound Sound(int part)
    {
        var left = new List<float>();
        var right = new List<float>();
        Set.Stream(part, (l, r) =>
        {
            left.AddRange(l);
            right.AddRange(r);
        });
        return new StereoSound([.. left], [.. right], 44100);
    }

    /// <summary>A second reader of the chunks, after the RIFF specification of 1991.</summary>
    private static (uint Frame, string Name)[] ReadCues(byte[] file)
    {
        var frames = new Dictionary<uint, uint>();
        var names = new Dictionary<uint, string>();
        for (int at = 12; at + 8 <= file.Length;)
        {
            string id = Encoding.ASCII.GetString(file, at, 4);
            int size = BitConverter.ToInt32(file, at + 4);
            if (id == "cue ")
            {
                for (int i = 0; i < BitConverter.ToInt32(file, at + 8); i++)
                    frames[BitConverter.ToUInt32(file, at + 12 + (24 * i))] = BitConverter.ToUInt32(file, at + 12 + (24 * i) + 20);
            }
            else if (id == "LIST")
            {
                for (int label = at + 12; label < at + 8 + size;)
                {
                    int length = BitConverter.ToInt32(file, label + 4);
                    names[BitConverter.ToUInt32(file, label + 8)] = Encoding.UTF8.GetString(file, label + 12, length - 5);
                    label += 8 + length + (length % 2);
                }
            }

            at += 8 + size + (size % 2);
        }

        return [.. frames.OrderBy(pair => pair.Key).Select(pair => (pair.Value, names[pair.Key]))];
    }
}
